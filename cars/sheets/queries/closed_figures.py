"""What a sheet says of its car: as set, or as found before anybody touched it."""

from collections.abc import Collection, Iterable, Mapping, Sequence
from datetime import datetime
from decimal import Decimal
from typing import NamedTuple
from uuid import UUID

from django.db.models import Exists, OuterRef, Q, QuerySet

from cars.catalogue.keys import Key
from cars.catalogue.queries import Catalogue
from cars.catalogue.staleness import stale_readings, touched_by
from cars.figures.derived import Figure, add_derived, figures_of
from cars.models import Change, ClosedFigures, Reading, Sheet, TrackChange
from cars.sheets.queries.sheets import versions_of

Values = Mapping[str, float]  # by the name of the box


class TakenFigure(NamedTuple):
    """A reading without what nobody asks for here: there may be thousands."""

    sheet_id: UUID
    measure_id: str
    spot: str
    take: int
    value: Decimal | None
    resolution: Decimal | None
    carried_from_id: UUID | None
    taken_at: datetime
    replaced_at: datetime | None


def kept_values(sheets: Iterable[UUID]) -> dict[UUID, Values]:
    """What is kept of these sheets, by sheet. One query."""
    rows = ClosedFigures.objects.filter(sheet__in=sheets).values_list("sheet_id", "values")
    return dict(rows)


def figures_by_sheet(
    sheets: Sequence[Sheet],
    known: Catalogue,
    *,
    using: str = "default",
    measures: Collection[str] | None = None,
    with_track_changes: bool = True,
) -> dict[UUID, dict[Key, Figure]]:
    """What each of these sheets says, computed from its readings. Three queries.

    Of these measures alone where they are named. `with_track_changes`: without what was
    changed at the track later, as the car is found next; else as it stood when it was set, in two
    queries.
    """
    if not sheets:
        return {}
    taken = _taken(sheets, known, using, measures)
    at_track = _changes_at_track(sheets, using) if with_track_changes else {}
    return {
        sheet.pk: _figures(_untouched(taken[sheet.pk], at_track.get(sheet.pk, []), known))
        for sheet in sheets
    }


def values_to_keep(
    sheets: Sequence[Sheet], known: Catalogue, using: str
) -> dict[UUID, tuple[dict[str, float], dict[str, float]]]:
    """What is kept of each sheet: its figures without what was changed at the track later, and of
    these boxes how they were set. Three queries."""
    if not sheets:
        return {}
    taken, at_track = _taken(sheets, known, using, None), _changes_at_track(sheets, using)
    kept = {}
    for sheet in sheets:
        changed = at_track.get(sheet.pk, [])
        values = as_values(_figures(_untouched(taken[sheet.pk], changed, known)))
        as_set = as_values(_figures(taken[sheet.pk])) if changed else {}
        kept[sheet.pk] = values, {box: as_set[box] for box in as_set.keys() - values.keys()}
    return kept


def _taken(
    sheets: Sequence[Sheet], known: Catalogue, using: str, measures: Collection[str] | None
) -> dict[UUID, list[TakenFigure]]:
    """The readings of each sheet that say how the car was found, or was set. Two queries."""
    readings: dict[UUID, list[TakenFigure]] = {}
    for row in _readings(sheets, using, measures):
        readings.setdefault(row.sheet_id, []).append(row)
    changes = _changes(sheets, using)
    taken = {}
    for sheet in sheets:
        pick = readings_as_found if sheet.role == Sheet.Role.FOUND else readings_as_set
        taken[sheet.pk] = pick(readings.get(sheet.pk, []), changes.get(sheet.pk, []), known)
    return taken


def _figures(taken: Iterable[TakenFigure]) -> dict[Key, Figure]:
    return add_derived(figures_of(taken))


def as_values(figures: Mapping[Key, Figure]) -> dict[str, float]:
    """The figures as they are kept."""
    return {str(key): float(figure.value) for key, figure in figures.items()}


def _readings(
    sheets: Sequence[Sheet], using: str, measures: Collection[str] | None
) -> list[TakenFigure]:
    rows = Reading.objects.using(using).filter(sheet__in=sheets).order_by("taken_at")
    rows = rows if measures is None else rows.filter(measure__in=measures)
    return [TakenFigure._make(row) for row in rows.values_list(*TakenFigure._fields)]


def _changes(sheets: Sequence[Sheet], using: str) -> dict[UUID, list[Change]]:
    """Of each sheet: what is changed on a car as found is noted on the set sheet that follows."""
    teams = {sheet.pk: sheet.team_id for sheet in sheets}
    # Asked apart: one condition over both would combine them with every change of the team.
    on: QuerySet[Sheet] = Sheet.objects.using(using).filter(Q(pk__in=teams) | Q(based_on__in=teams))
    rows = Change.objects.using(using).current().filter(sheet__in=on.order_by().values("pk"))
    by_sheet: dict[UUID, list[Change]] = {}
    for change in rows.select_related("sheet"):
        for sheet_id in {change.sheet_id, change.sheet.based_on_id} & teams.keys():
            # The next owner's changes say nothing of what this team read.
            if sheet_id and change.team_id == teams[sheet_id]:
                by_sheet.setdefault(sheet_id, []).append(change)
    return by_sheet


def _changes_at_track(sheets: Sequence[Sheet], using: str) -> dict[UUID, list[TrackChange]]:
    """Of each sheet as set: what was changed since, and not put back."""
    # What was changed after an earlier version was changed after this one, too.
    on = {
        version: sheet.pk
        for sheet in sheets
        if sheet.role == Sheet.Role.SET
        for version in versions_of(sheet, using=using)
    }
    current = TrackChange.objects.using(using).current()
    put_back = current.filter(puts_back=OuterRef("pk"))
    by_sheet: dict[UUID, list[TrackChange]] = {}
    for change in current.filter(sheet__in=on, puts_back=None).exclude(Exists(put_back)):
        by_sheet.setdefault(on[change.sheet_id], []).append(change)
    return by_sheet


def _untouched(
    readings: list[TakenFigure], changes: Iterable[TrackChange], known: Catalogue
) -> list[TakenFigure]:
    """The readings that still say how the car stands when it is found next: nothing at the track
    moved them, so that a difference is the car's own."""
    made = [touched_by(change, known) for change in changes]
    return [
        row
        for row in readings
        if (measure := known.measures.get(row.measure_id)) is None
        or not any(each.holds(measure.pk, measure.step_id, row.spot) for each in made)
    ]


def readings_as_set(
    readings: Iterable[TakenFigure], changes: Iterable[Change], known: Catalogue
) -> list[TakenFigure]:
    """The readings that say how the car was set: those in force and are not stale."""
    standing = [row for row in readings if row.replaced_at is None]
    stale = stale_readings(standing, changes, known)
    return [row for row in standing if Key(row.measure_id, row.spot) not in stale]


def readings_as_found(
    readings: Iterable[TakenFigure], changes: Iterable[Change], known: Catalogue
) -> list[TakenFigure]:
    """The readings that say how the car came: of each box the last one before it was touched."""
    made = [(change.made_at, touched_by(change, known)) for change in changes]
    last: dict[tuple[str, str, int], TakenFigure] = {}
    for row in sorted(readings, key=lambda row: row.taken_at):
        measure = known.measures.get(row.measure_id)
        if measure is None or any(
            made_at <= row.taken_at and touched.holds(measure.pk, measure.step_id, row.spot)
            for made_at, touched in made
        ):
            continue
        last[row.measure_id, row.spot, row.take] = row
    # They stood when the car came.
    return [row._replace(replaced_at=None) for row in last.values()]
