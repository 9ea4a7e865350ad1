"""What a car lapped, night by night: at each track, with the weather of it."""

from collections import Counter, defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime
from statistics import median
from typing import Any, NamedTuple
from uuid import UUID

from django.db.models import F, FilteredRelation, FloatField, Func, Q
from django.utils import timezone

from cars.models import Car, Run, Weather
from cars.models.run import RunQuerySet
from cars.runs.queries.air import air_of
from teams.models import Driver

AIR = ("temperature", "humidity", "pressure", "pressure_of", "altitude")


class _MiddleLap(Func):
    """The median of a run's laps that count, computed where they lie."""

    template = (
        "(SELECT percentile_cont(0.5) WITHIN GROUP (ORDER BY lap)"
        " FROM unnest(%(expressions)s) AS one(lap, mark) WHERE mark = '')"
    )
    output_field = FloatField()


class RunLine(NamedTuple):
    """What is asked of a run here."""

    pk: UUID
    car: UUID
    number: str
    race_class: str | None
    ran_at: datetime
    track: str | None
    surface: str
    kind: str
    finish: int | None
    temperature: Any
    humidity: Any
    pressure: Any
    pressure_of: str | None
    altitude: Any
    times: list[Any] | None
    middle: float | None


@dataclass(frozen=True, slots=True)
class Night:
    """A car's runs of one day at one track: the median of their medians, seconds."""

    day: date
    track: str
    surface: str
    runs: list[RunLine]

    @property
    def middle(self) -> float | None:
        """None where none was timed."""
        middles = [run.middle for run in self.runs if run.middle is not None]
        return median(middles) if middles else None

    @property
    def timed(self) -> int:
        """How many of them were timed."""
        return sum(run.middle is not None for run in self.runs)

    @property
    def laps(self) -> int:
        """All laps of them."""
        return sum(len(run.times or ()) for run in self.runs)

    @property
    def finishes(self) -> list[tuple[str, int]]:
        """('main', 2) of each that raced, in their order."""
        return [(run.kind, run.finish) for run in self.runs if run.finish]

    @property
    def temperature(self) -> Any:
        """The last that was noted."""
        noted = self._noted
        return noted.temperature if noted else None

    @property
    def density_altitude(self) -> float | None:
        """Of the same weather, metres."""
        if (noted := self._noted) is None:
            return None
        return air_of(Weather(**{name: getattr(noted, name) for name in AIR})).density_altitude

    @property
    def _noted(self) -> RunLine | None:
        return next((run for run in reversed(self.runs) if run.temperature is not None), None)

    @property
    def shown_by(self) -> RunLine:
        """The last of its runs that was timed, else the last."""
        timed = [run for run in self.runs if run.middle is not None]
        return (timed or self.runs)[-1]


def season_bounds(season: int) -> tuple[datetime, datetime]:
    """When a season begins and when the next one does, by the reader's clock."""
    zone = timezone.get_current_timezone()
    return datetime(season, 1, 1, tzinfo=zone), datetime(season + 1, 1, 1, tzinfo=zone)


def nights_of(car: Car, season: int | None = None) -> list[Night]:
    """Day by day and track by track, oldest first. One query."""
    rows = Run.objects.filter(car=car, team=car.team_id, details__replaced_at=None)
    return _nights(_lines(rows, season))


def nights_of_driver(driver: Driver, season: int | None = None) -> list[Night]:
    """The same of whoever drove, on whichever car of the team. One query."""
    # In one filter: in two, details that were replaced would do for the driver.
    rows = Run.objects.filter(
        team=driver.team_id, details__driver=driver, details__replaced_at=None
    )
    return _nights(_lines(rows, season))


def _lines(rows: RunQuerySet, season: int | None) -> list[RunLine]:
    rows = rows.current()
    if season is not None:
        begins, ends = season_bounds(season)
        rows = rows.filter(ran_at__gte=begins, ran_at__lt=ends)
    # Laps that were replaced are left out in the join, so that a run without laps stays.
    laps = F("standing__times")
    rows = rows.annotate(
        standing=FilteredRelation("laps", condition=Q(laps__replaced_at=None))
    ).annotate(times=laps, middle=_MiddleLap(laps, F("standing__marks")))
    names = (
        *("pk", "car_id", "car__number", "car__race_class__name", "ran_at"),
        *("details__track__name", "details__surface", "details__kind", "details__finish"),
        *(f"details__weather__{name}" for name in AIR),
        *("times", "middle"),
    )
    return [RunLine._make(row) for row in rows.order_by("ran_at", "id").values_list(*names)]


def _nights(lines: Iterable[RunLine]) -> list[Night]:
    nights: dict[tuple[date, str, str], list[RunLine]] = defaultdict(list)
    for run in lines:
        day = timezone.localdate(run.ran_at)
        nights[day, run.track or "", run.surface].append(run)
    return [Night(*at, runs) for at, runs in nights.items()]


def cars_driven(nights: Iterable[Night]) -> list[tuple[UUID, str, str, int]]:
    """Each car by id, number and class, with how many runs; the most driven first."""
    counted = Counter(
        (run.car, run.number, run.race_class or "") for night in nights for run in night.runs
    )
    return [(*car, runs) for car, runs in counted.most_common()]
