"""Back to a track: how a car was set there before, and what its runs came to."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from statistics import median
from typing import NamedTuple
from uuid import UUID

from django.db.models import Count, Max
from django.utils import timezone

from cars.mechanics.helped import Verdict
from cars.models import Car, Sheet, Weather
from cars.models.sheet import SheetQuerySet
from cars.runs.queries.helped import MOST_COMPARED, compare
from cars.runs.queries.runs import RunNoted, noted, runs_of
from cars.sheets.queries.sheets import versions_of
from clubsetup.access.ids import id_or_none
from teams.models import Track

# A place in a season is come back to a few times; the newest say most.
A_PAGE = 10


class Place(NamedTuple):
    """A track and its surface, how many sheets were set there and the newest one's day."""

    track: Track
    surface: str
    sheets: int
    last: date


@dataclass(frozen=True, slots=True)
class SetThere:
    """A sheet as set at a track, with the runs that the car made on it there, the newest first."""

    sheet: Sheet
    runs: list[RunNoted] = field(default_factory=list)

    @property
    def timed(self) -> list[RunNoted]:
        """Those with laps that count."""
        return [run for run in self.runs if run.counted]

    @property
    def middle(self) -> Decimal | None:
        """The median of their medians, seconds."""
        middles = [run.middle for run in self.timed if run.middle is not None]
        return median(middles) if middles else None

    @property
    def best(self) -> Decimal | None:
        """The quickest lap that counts, seconds."""
        return min((run.best for run in self.timed if run.best is not None), default=None)

    @property
    def raced(self) -> list[RunNoted]:
        """Those of which a finishing position is noted."""
        return [run for run in self.runs if run.details.finish]

    @property
    def weather(self) -> Weather | None:
        """The newest that was noted with one of them."""
        return next((run.details.weather for run in self.runs if run.details.weather), None)


@dataclass(frozen=True, slots=True)
class Fastest:
    """The sheet whose runs were quickest, and whether that can be told.

    `verdict` against `beside`, the next one that does not come out slower; None of a sheet that is
    shown faster than every other.
    """

    there: SetThere
    beside: SetThere | None
    verdict: Verdict
    is_same_day: bool


def places_of(car: Car) -> list[Place]:
    """Where a car was set, the newest first. Two queries."""
    rows = list(
        _set_sheets(car)
        .order_by()
        .values_list("track", "surface")
        .annotate(sheets=Count("pk"), last=Max("made_on"))
        .order_by("-last")
    )
    tracks = Track.objects.in_bulk({row[0] for row in rows})
    return [Place(tracks[pk], *rest) for pk, *rest in rows if pk in tracks]


def place_asked(places: Sequence[Place], track: str, surface: str) -> Place | None:
    """The one that is asked for by the id of its track, of any surface where none is named; without
    a track the first. None where the car was never set there."""
    if not track:
        return places[0] if places else None
    wanted = id_or_none(track)
    rows = (each for each in places if each.track.pk == wanted)
    return next((each for each in rows if surface in ("", each.surface)), None)


def sheets_at(car: Car, track: Track, surface: str) -> SheetQuerySet:
    """The closed sheets as set there, the newest first."""
    rows = _set_sheets(car).filter(track=track, surface=surface)
    return rows.select_related("driver", "track", "baseline").order_by("-made_on", "-created_at")


def _set_sheets(car: Car) -> SheetQuerySet:
    return Sheet.objects.current().filter(
        car=car,
        team=car.team_id,
        role=Sheet.Role.SET,
        state=Sheet.State.CLOSED,
        track__isnull=False,
    )


def with_runs(car: Car, sheets: Sequence[Sheet]) -> list[SetThere]:
    """Each with the runs made on it, or on a version it corrects, at its own track. Four queries,
    and one for each version corrected."""
    sheet_of: dict[UUID | None, Sheet] = {
        pk: sheet for sheet in sheets for pk in versions_of(sheet)
    }
    runs: dict[UUID, list[RunNoted]] = defaultdict(list)
    for run in map(noted, runs_of(car).filter(sheet__in=sheet_of)):
        sheet = sheet_of.get(run.run.sheet_id)
        if sheet is not None and run.details.track_id in (None, sheet.track_id):
            runs[sheet.pk].append(run)
    return [SetThere(sheet, runs[sheet.pk]) for sheet in sheets]


def fastest_of(car: Car, there: Sequence[SetThere]) -> Fastest | None:
    """The quickest of several by the median of its runs, held against the others one by one until
    one does not come out slower; None where fewer than two were timed."""
    timed = sorted(
        (each for each in there if each.timed), key=lambda each: each.middle or Decimal(0)
    )
    if len(timed) < 2:
        return None
    first, *others = timed
    for other in others:
        compared = compare(car, _newest(other), _newest(first))
        if compared.help.verdict != "faster":
            return Fastest(first, other, compared.help.verdict, bool(_days(first) & _days(other)))
    return Fastest(first, None, "faster", is_same_day=False)


def _newest(there: SetThere) -> list[UUID]:
    return [run.run.pk for run in there.timed[:MOST_COMPARED]]


def _days(there: SetThere) -> set[date]:
    return {timezone.localdate(run.run.ran_at) for run in there.timed}
