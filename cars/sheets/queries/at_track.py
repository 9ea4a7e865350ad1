"""What was changed at the track since a car was set, before it was next found.

What that makes of the figures is worked out a slice above, and asked of whoever brings it.
"""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from itertools import chain
from uuid import UUID

from cars.catalogue.keys import Key
from cars.catalogue.queries import Catalogue
from cars.catalogue.staleness import makes_stale
from cars.figures.derived import Figure
from cars.models import BaselineValue, Sheet, TrackChange, TrackReading
from cars.sheets.queries.sheets import versions_of
from cars.sheets.queries.targets import TargetSource
from clubsetup.access.models import User
from clubsetup.site.contributions import contributed

# By box what it should read now, None where nothing but reading it tells; of boxes that were
# changed or read again at the track alone.
FiguresNow = Mapping[Key, Figure | None]
Provider = Callable[[Sheet, User, datetime], FiguresNow]
_providers: list[Provider] = []


def collect() -> None:
    """From what the apps list as `figures_at_track`."""
    _providers[:] = chain(*contributed("figures_at_track"))


def figures_at_track(sheet: Sheet, viewer: User, until: datetime) -> dict[Key, Figure | None]:
    """What a car set as `sheet` says should read after what was done at the track until then."""
    figures: dict[Key, Figure | None] = {}
    for provider in _providers:
        figures = {**provider(sheet, viewer, until), **figures}
    return figures


def track_changes_of(sheet: Sheet, *, until: datetime | None = None) -> list[TrackChange]:
    """Those made since the car stood as the sheet says, in order; none that was taken back.

    A correction of the sheet says better how the car stood; what was changed since stays.
    """
    rows = TrackChange.objects.current().filter(sheet__in=versions_of(sheet)).select_related("by")
    if until is not None:
        rows = rows.filter(made_at__lte=until)
    return list(rows.order_by("made_at", "id"))


def standing(changes: Iterable[TrackChange]) -> list[TrackChange]:
    """Without those that were put back, and without what put them back."""
    made = list(changes)
    undone = {change.puts_back_id for change in made if change.puts_back_id}
    return [change for change in made if change.pk not in undone and not change.puts_back_id]


@dataclass(frozen=True, slots=True)
class ChangedAtTrack:
    """What was changed on a car that stood as `since` says, until it was found: what stands of it.

    `versions`: of the sheet as set.
    """

    since: Sheet
    versions: frozenset[UUID]
    changes: list[TrackChange]
    until: datetime

    def touches(self, key: Key, known: Catalogue) -> bool:
        """One of the changes calls for this box again."""
        return is_touched(key, self.changes, known)


def is_touched(key: Key, changes: Iterable[TrackChange], known: Catalogue) -> bool:
    """One of the changes calls for this box again."""
    measure = known.measures.get(key.measure)
    return measure is not None and any(
        makes_stale(change, measure.pk, measure.step_id, key.spot, known) for change in changes
    )


def changed_before(sheet: Sheet) -> ChangedAtTrack | None:
    """What a sheet as found comes after; None where nothing was changed or read at the track."""
    if sheet.role != Sheet.Role.FOUND:
        return None
    first = versions_of(sheet)[-1]
    until = sheet.created_at
    if first != sheet.pk:
        until = Sheet.objects.only("created_at").get(pk=first).created_at
    before = Sheet.objects.filter(car=sheet.car_id, team=sheet.team_id, role=Sheet.Role.SET)
    earlier = before.filter(made_on__lte=sheet.made_on, created_at__lt=until)
    since = earlier.order_by("-made_on", "-created_at").first()
    if since is None:
        return None
    versions = versions_of(since)
    changes = standing(track_changes_of(since, until=until))
    read = TrackReading.objects.current().filter(sheet__in=versions, taken_at__lte=until)
    if not changes and not read.exists():
        return None
    return ChangedAtTrack(since, frozenset(versions), changes, until)


def follow_track(
    sheet: Sheet, source: TargetSource, targets: dict[Key, BaselineValue], viewer: User
) -> dict[Key, BaselineValue]:
    """The targets of a sheet as found; where they are the sheet as set that the car stood on, as
    what was changed since should have left them."""
    if source.sheet is None or (changed := changed_before(sheet)) is None:
        return targets
    if source.sheet.pk not in changed.versions:
        return targets
    now = figures_at_track(changed.since, viewer, changed.until)
    return {
        key: _as_now(row, now.get(key))
        for key, row in targets.items()
        if key not in now or now[key] is not None
    }


def _as_now(row: BaselineValue, figure: Figure | None) -> BaselineValue:
    if figure is None:
        return row
    return BaselineValue(
        measure_id=row.measure_id, spot=row.spot, target=figure.value, tolerance=row.tolerance
    )
