"""Did it help: two groups of runs compared, the unit being the run and not the lap.

Laps of a run share tyres, traffic and mood, so that a hundred laps of two runs are two
observations. `run_levels` has the model; here are the runs as they come, the verdict, what makes
the comparison doubtful, and how many more runs would tell. Times in s, differences after minus
before: below zero is faster.
"""

from collections.abc import Hashable, Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

import numpy as np

from cars.mechanics.errors import BadInput, TooThin, positive
from cars.mechanics.laps import LapNoise, RunLaps, lap_noise, middle_variances
from cars.mechanics.more_runs import EVENING, Group, next_group, runs_to_tell, separates
from cars.mechanics.run_levels import Prior, change_of
from cars.mechanics.run_likelihood import Level, Trend

WORTH_HAVING = 0.05  # s: what a team may choose otherwise. Our judgement, no source.
WARMER = 5.0  # degrees C between the groups' means that are other weather. Our judgement.
EITHER_SIDE = 0.025  # of the 95 % interval

Verdict = Literal["faster", "slower", "no difference worth having", "cannot tell"]
Doubt = Literal["surface state", "weather", "tyres", "driver", "timed by hand"]

USUAL = Prior()
ANY_TREND = Trend()


@dataclass(frozen=True, slots=True)
class Conditions:
    """What a run was driven under; None where nobody said. `temperature` of the air, degrees C."""

    surface_state: Hashable = None
    weather: Hashable = None
    tyres: Hashable = None
    driver: Hashable = None
    temperature: float | None = None


@dataclass(frozen=True, slots=True)
class TimedRun:
    """A run with laps that count: the day as a number, its place in that day, its conditions.

    `setup` tells runs of the record apart that were driven on one day with another set-up.
    """

    day: int
    order: int
    laps: RunLaps
    conditions: Conditions = Conditions()
    setup: Hashable = None


@dataclass(frozen=True, slots=True)
class Help:
    """What the runs say of the change: difference and its 95 % interval in s, and the verdict.

    `runs_needed` more runs would tell 0.1 s with a chance of 80 %, 0 where these do and None
    where more than 60 would not; `tonight` whether an evening holds them; `next_group` is what
    to drive next. `run_scatter_s` is what this driver's runs scatter by.
    """

    difference_s: float
    low_s: float
    high_s: float
    verdict: Verdict
    runs_needed: int | None
    tonight: bool
    next_group: Group
    warnings: tuple[Doubt, ...]
    run_scatter_s: float


def did_it_help(
    before: Sequence[TimedRun],
    after: Sequence[TimedRun],
    record: Iterable[TimedRun] = (),
    *,
    prior: Prior | None = USUAL,
    trend: Trend | None = ANY_TREND,
    worth: float = WORTH_HAVING,
    evening: int = EVENING,
) -> Help:
    """Compare the runs after a change with those before it.

    `record` are other runs of this driver on this surface: from them his scatter is learnt. Those
    that are in a group are left out of it. The interval is that of the middle 95 % of the
    posterior (`run_levels`): Student's t where one spread is unknown.
    Raises TooThin for a group without a run, BadInput for two runs in one place of one day, a
    `worth` not positive.
    """
    positive("worth", worth)
    runs = sorted([*before, *after], key=_place)
    _refuse_twice(runs)
    if not before or not after:
        raise TooThin("runs", "one of the two groups has none")
    taken = {_place(run) for run in runs}
    others = [run for run in record if _place(run) not in taken]
    changed = {_place(run) for run in after}
    noise = lap_noise([run.laps for run in (*runs, *others)])
    levels = [
        level._replace(after=float(_place(run) in changed))
        for run, level in zip(runs, levels_of(runs, noise), strict=True)
    ]
    earlier = [
        level._replace(day=(run.day, run.setup))
        for run, level in zip(others, levels_of(others, noise), strict=True)
    ]
    posterior = change_of(levels, earlier, prior=prior, trend=trend)
    low, high = posterior.quantile(EITHER_SIDE), posterior.quantile(1.0 - EITHER_SIDE)
    needed = runs_to_tell(levels, earlier, posterior, prior=prior, trend=trend)
    last = [level.after for level in levels if level.day == runs[-1].day]
    return Help(
        difference_s=posterior.mean,
        low_s=low,
        high_s=high,
        verdict=verdict_of(low, high, worth, pair=len(runs) == 2, separates=separates(levels)),
        runs_needed=needed,
        tonight=needed is not None and len(last) + needed <= evening,
        next_group=next_group(last),
        warnings=doubts(before, after),
        run_scatter_s=float(posterior.run_scatter_quantiles(np.array([0.5]))[0]),
    )


def levels_of(runs: Sequence[TimedRun], noise: LapNoise) -> list[Level]:
    """Each run's middle with what its laps leave open, as if before the change."""
    if not runs:
        return []
    variances = middle_variances([run.laps for run in runs], noise)
    return [
        Level(run.day, float(run.order), 0.0, run.laps.middle, float(variance))
        for run, variance in zip(runs, variances, strict=True)
    ]


def verdict_of(low: float, high: float, worth: float, *, pair: bool, separates: bool) -> Verdict:
    """What an interval says, s. One pair of runs never says anything."""
    if pair:
        return "cannot tell"
    if separates and high < 0.0:
        return "faster"
    if separates and low > 0.0:
        return "slower"
    return "no difference worth having" if -worth < low and high < worth else "cannot tell"


def doubts(before: Sequence[TimedRun], after: Sequence[TimedRun]) -> tuple[Doubt, ...]:
    """What differs between the groups beside the change, where it was said of both."""
    found: list[Doubt] = []
    if _differ([r.conditions.surface_state for r in before], _states(after, "surface_state")):
        found.append("surface state")
    if _differ(_states(before, "weather"), _states(after, "weather")) or _warmer(before, after):
        found.append("weather")
    if _differ(_states(before, "tyres"), _states(after, "tyres")):
        found.append("tyres")
    if _differ(_states(before, "driver"), _states(after, "driver")):
        found.append("driver")
    if any(run.laps.by_hand for run in (*before, *after)):
        found.append("timed by hand")
    return tuple(found)


def _states(runs: Sequence[TimedRun], name: str) -> list[Hashable]:
    return [getattr(run.conditions, name) for run in runs]


def _differ(before: Iterable[Hashable], after: Iterable[Hashable]) -> bool:
    one, other = set(before) - {None}, set(after) - {None}
    return bool(one and other) and one != other


def _warmer(before: Sequence[TimedRun], after: Sequence[TimedRun]) -> bool:
    one, other = (
        [run.conditions.temperature for run in runs if run.conditions.temperature is not None]
        for runs in (before, after)
    )
    return bool(one and other) and abs(sum(one) / len(one) - sum(other) / len(other)) > WARMER


def _place(run: TimedRun) -> tuple[int, int]:
    return run.day, run.order


def _refuse_twice(runs: Sequence[TimedRun]) -> None:
    for run, following in pairwise(runs):
        if _place(run) == _place(following):
            raise BadInput("runs", f"two are run {run.order} of one day")
