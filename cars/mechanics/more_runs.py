"""How many more runs would tell a difference, and which to drive next."""

from collections import defaultdict
from collections.abc import Hashable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

import numpy as np
import scipy

from cars.mechanics.run_levels import Posterior, Prior, change_variances, degrees_left
from cars.mechanics.run_likelihood import Floats, Level, Trend

TELL = 0.1  # s
CHANCE = 0.8
MOST_MORE = 60
EVENING = 12  # runs in all. Common practice, no source.
# Run scatters that stand for the posterior: the middles of parts as likely as each other.
PARTS: Floats = np.linspace(0.5 / 9.0, 8.5 / 9.0, 9)
UPPER = 0.975

Group = Literal["before", "after"]


def next_group(driven: Sequence[float]) -> Group:
    """What to drive next on a day, 1 being after the change: the group with fewer runs.

    Where both have as many, the other one than the last; a day begins as it was before. So one
    pair A, B goes on with A, and every order comes to separate the trend.
    """
    after = sum(driven)
    before = len(driven) - after
    if before == after:
        return "before" if not driven or driven[-1] else "after"
    return "after" if after < before else "before"


def runs_to_tell(
    levels: Sequence[Level],
    record: Sequence[Level],
    posterior: Posterior,
    *,
    prior: Prior | None,
    trend: Trend | None,
) -> int | None:
    """The fewest more runs with which a change of 0.1 s is told with a chance of 80 %.

    They follow the last day that has both groups, or make a day of their own, each the
    `next_group`. For each of nine run scatters s as likely by the posterior: the change found is
    normal about 0.1 s with its variance v(s) under all runs; the half-width of its interval is
    t(nu + more) sqrt v(s'), where s'^2 with the laps' part is the mean of the posterior's, with
    nu degrees, and of the truth, with as many as more runs. The chance is the mean of the nine.
    None where 60 more would not tell, or nothing is known of what they would scatter by.
    """
    runs = continued(levels, MOST_MORE)
    outlook = _outlook(levels, record, posterior, prior=prior, trend=trend)

    def chance(more: int) -> float:
        some = runs[: len(levels) + more]
        return outlook.chance(some, more) if separates(some) else 0.0

    low, high = -1, 0
    while chance(high) < CHANCE:
        if high == MOST_MORE:
            return None
        low, high = high, min(2 * high + 2, MOST_MORE)
    while high - low > 1:
        more = (low + high) // 2
        low, high = (low, more) if chance(more) >= CHANCE else (more, high)
    return high


def separates(levels: Sequence[Level]) -> bool:
    """Whether the order tells the change from a trend: on some day A-B-A or B-A-B, or longer.

    Groups that share no day have no trend between them, only the days' levels: three days at
    least, since a day of each is one pair. `levels` in the order driven.
    """
    days: dict[Hashable, list[float]] = defaultdict(list)
    for level in levels:
        days[level.day].append(level.after)
    if all(len(set(groups)) == 1 for groups in days.values()):
        return len(days) > 2
    return any(sum(one != other for one, other in pairwise(groups)) > 1 for groups in days.values())


def continued(levels: Sequence[Level], more: int) -> list[Level]:
    """The runs with `more` after them, each the next group; their middles are not known."""
    groups: dict[object, set[float]] = {}
    for level in levels:
        groups.setdefault(level.day, set()).add(level.after)
    shared = [day for day, found in groups.items() if len(found) == 2]
    day = shared[-1] if shared else ("new", len(groups))
    driven = [level for level in levels if level.day == day]
    order = max((level.order for level in driven), default=0.0)
    after = [level.after for level in driven]
    variance = sum(level.variance for level in levels) / len(levels)
    result = list(levels)
    for number in range(1, more + 1):
        after.append(float(next_group(after) == "after"))
        result.append(Level(day, order + number, after[-1], 0.0, variance))
    return result


@dataclass(frozen=True, slots=True)
class _Outlook:
    """What is held of the scatter before more runs are driven."""

    scatter: Floats  # s, nine as likely as each other
    day_spread: float  # s
    dof: float
    laps: float  # s^2, what the laps of one run leave open
    trend: Trend | None

    def chance(self, runs: Sequence[Level], more: int) -> float:
        """The chance that a change of 0.1 s is told by these runs, `more` of them new."""
        total = self.scatter**2 + self.laps
        # As it will be estimated: what is held now, and what the further runs add.
        estimated = (self.dof * total.mean() + more * total) / (self.dof + more)
        final = np.sqrt(np.maximum(estimated - self.laps, 0.0))
        variances = change_variances(
            runs,
            np.concatenate((self.scatter, final)),
            self.day_spread,
            trend=self.trend,
            laps_open=self.laps > 0.0,
        )
        true, seen = np.sqrt(variances[: len(PARTS)]), np.sqrt(variances[len(PARTS) :])
        half = scipy.special.stdtrit(self.dof + more, UPPER) * seen
        phi = scipy.special.ndtr
        return float((phi((TELL - half) / true) + phi((-TELL - half) / true)).mean())


def _outlook(
    levels: Sequence[Level],
    record: Sequence[Level],
    posterior: Posterior,
    *,
    prior: Prior | None,
    trend: Trend | None,
) -> _Outlook:
    laps = 0.0 if prior is None else sum(level.variance for level in levels) / len(levels)
    return _Outlook(
        posterior.run_scatter_quantiles(PARTS),
        posterior.day_spread_mean,
        degrees_left(levels, record, prior=prior, trend=trend),
        laps,
        trend,
    )
