"""Runs with what stands of each: facts, feel, laps."""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from statistics import median
from typing import Any, NamedTuple
from uuid import UUID

from django.utils import timezone

from cars.mechanics.laps import LapNoise, RunLaps, middle_variance
from cars.models import Car, Feel, Laps, Run, RunDetails, Weather
from cars.models.run import RunQuerySet
from cars.runs.queries.run_notes import with_notes

NO_SCATTER = LapNoise(0.0, 0.0)  # the presses alone


class MiddleByHand(NamedTuple):
    """The mean of the laps that count, and its standard uncertainty from the presses, s."""

    seconds: float
    u: float


@dataclass(frozen=True, slots=True)
class RunNoted:
    """A run with what stands of it. `number`: which of its day it was; None where not counted."""

    run: Run
    details: RunDetails
    feels: dict[str, Feel]
    laps: Laps | None
    number: int | None = None

    @property
    def counted(self) -> list[Decimal]:
        """Seconds of the laps that count."""
        if self.laps is None:
            return []
        pairs = zip(self.laps.times, self.laps.marks, strict=True)
        return [seconds for seconds, mark in pairs if not mark]

    @property
    def middle(self) -> Decimal | None:
        """The median of the laps that count, seconds."""
        return median(self.counted) if self.counted else None

    @property
    def middle_by_hand(self) -> MiddleByHand | None:
        """What the presses of a stopwatch leave open of the middle; None where none was pressed."""
        if self.laps is None or self.laps.timed_by != Laps.TimedBy.HAND or not self.counted:
            return None
        times = tuple(float(seconds) for seconds in self.laps.times)
        laps = RunLaps(times, tuple(not mark for mark in self.laps.marks), by_hand=True)
        return MiddleByHand(laps.middle, math.sqrt(middle_variance(laps, NO_SCATTER)))

    @property
    def best(self) -> Decimal | None:
        """The quickest of the laps that count, seconds."""
        return min(self.counted, default=None)


def changes_kept(run: Run) -> list[dict[str, str]]:
    """What stood changed on the car when it went out, as the run keeps it."""
    changes: list[dict[str, str]] = run.car_state.get("changes", [])
    return changes


def runs_of(car: Car) -> RunQuerySet:
    """The runs of a car that count, the newest first, with what stands of each. Four queries."""
    rows = Run.objects.current().filter(car=car, team=car.team_id).select_related("by")
    return with_notes(rows, whole=True).order_by("-ran_at", "-id")


def noted(run: Any, number: int | None = None) -> RunNoted:
    """A run read by `with_notes`, whole."""
    (details,) = run.standing_details
    return RunNoted(
        run=run,
        details=details,
        feels={feel.said_by: feel for feel in run.standing_feels},
        laps=next(iter(run.standing_laps), None),
        number=number,
    )


def runs_of_day(car: Car, day: date) -> list[RunNoted]:
    """A car's runs of one day of the reader's clock, the newest first, numbered as they came."""
    start = timezone.make_aware(datetime.combine(day, time()))
    rows = runs_of(car).filter(ran_at__gte=start, ran_at__lt=start + timedelta(days=1))
    return numbered(rows)


def numbered(rows: Iterable[Run]) -> list[RunNoted]:
    """All runs of one day, the newest first."""
    ordered = list(rows)
    return [noted(run, len(ordered) - place) for place, run in enumerate(ordered)]


def newest_details(runs: Sequence[RunNoted], car: Car) -> RunDetails | None:
    """What the last run was like, of this day or of any before: the next is filled in from it."""
    if runs:
        return runs[0].details
    rows = RunDetails.objects.current().filter(run__car=car, run__struck_at=None)
    return rows.select_related("driver", "track").order_by("-run__ran_at", "-run").first()


def run_or_none(pk: UUID) -> Run | None:
    """A run with what stands of it, struck or not; None for whoever may not see it."""
    rows = with_notes(Run.objects.filter(pk=pk), whole=True)
    joined = ("by", "car__chassis__club", "team__club", "sheet", "struck_by")
    run = rows.select_related(*joined).first()
    # The car may have gone to another team since, which whoever reads this may not read.
    if run is not None and run.car.team_id == run.team_id:
        run.car.team = run.team
    return run


WEATHER_HOLDS = timedelta(hours=3)  # our judgement: it is noted anew when it turns


def weather_now(car: Car) -> Weather | None:
    """What the team noted last of the air, not long ago."""
    since = timezone.now() - WEATHER_HOLDS
    rows = Weather.objects.current().filter(team=car.team_id, noted_at__gte=since)
    return rows.order_by("-noted_at").first()


SAME_RUN = timedelta(minutes=6)  # a run and the way back last no longer; our judgement


def twin_of(run: RunNoted, of_the_day: Sequence[RunNoted]) -> RunNoted | None:
    """A run of the same car that somebody else noted at nearly the same time: perhaps the same."""
    near = (
        other
        for other in of_the_day
        if other.run.pk != run.run.pk
        and other.run.by_id != run.run.by_id
        and abs(other.run.ran_at - run.run.ran_at) <= SAME_RUN
    )
    return next(near, None)
