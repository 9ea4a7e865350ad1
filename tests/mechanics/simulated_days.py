"""Days at the track with a known effect, to try 'did it help' on.

Written down before the estimator was tuned, and not its prior. Each figure of a day is drawn
anew from a stated range; nothing of the estimator is used to make one:

- the run's own scatter: log-uniform from 0.02 to 0.15 s, one for a driver here and all his days;
- the lap's own scatter 0.05 to 0.25 s and its lag-1 correlation 0 to 0.6, uniform;
- the trend -0.05 to +0.02 s a run, uniform; it bends once in each stretch of as many runs as the
  order has, anywhere in it, and goes on with a slope drawn anew from the same range;
- slow laps: a share of 5 to 15 %, each 0.4 to 2 s slower, uniform;
- 6 to 15 laps a run, as likely each;
- orders ABA, ABAB, AABB, ABBA, ABABAB, AAABBB, and groups that share no day (one to three days
  of two to four runs each), in equal parts;
- a record of 0, 3 or 10 earlier days of four to eight runs, in equal parts;
- the days' levels: normal, their spread log-uniform from 0.05 to 0.4 s;
- the effect as said, slower as often as faster.
"""

from collections.abc import Iterator
from dataclasses import dataclass, field

import numpy as np

ORDERS = ("ABA", "ABAB", "AABB", "ABBA", "ABABAB", "AAABBB")
APART = "apart"  # groups that share no day
KINDS = (*ORDERS, APART)
RECORDS = (0, 3, 10)
RUN_SCATTER = (0.02, 0.15)
LAP_SCATTER = (0.05, 0.25)
LAG_1 = (0.0, 0.6)
TREND = (-0.05, 0.02)
SLOW_SHARE = (0.05, 0.15)
SLOWER_BY = (0.4, 2.0)
LAPS = (6, 15)
DAY_SPREAD = (0.05, 0.4)
RECORD_RUNS = (4, 8)
APART_DAYS = (1, 3)
APART_RUNS = (2, 4)
BASE = 7.5  # s


@dataclass(frozen=True)
class Driver:
    """How one driver drives here."""

    run_scatter: float
    lap_scatter: float
    lag_1: float
    slow_share: float
    day_spread: float


@dataclass(frozen=True)
class DrivenRun:
    """The laps of one run, in s, with its day, its place in the day and its group."""

    day: int
    order: int
    group: str
    laps: np.ndarray


@dataclass
class Day:
    """One day, driven run by run: it can be continued after it was looked at."""

    rng: np.random.Generator
    driver: Driver
    number: int
    effect: float  # of B over A, s
    stretch: int  # runs between bends, about
    runs: list[DrivenRun] = field(default_factory=list)
    level: float = 0.0
    slopes: list[float] = field(default_factory=list)
    bends: list[float] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.level = BASE + self.rng.normal(0.0, self.driver.day_spread)
        self.slopes.append(self.rng.uniform(*TREND))

    def trend(self, order: int) -> float:
        """Where the day has come to by its run `order`, s."""
        while len(self.bends) * self.stretch <= order:
            stretch = len(self.bends) * self.stretch
            self.bends.append(stretch + self.rng.uniform(0.0, self.stretch - 1.0))
            self.slopes.append(self.rng.uniform(*TREND))
        ends = np.minimum([*self.bends, np.inf], order)
        return float(np.diff(ends, prepend=0.0) @ self.slopes)

    def drive(self, group: str) -> None:
        """One more run."""
        driver, order = self.driver, len(self.runs)
        level = self.level + self.trend(order) + self.rng.normal(0.0, driver.run_scatter)
        laps = level + (self.effect if group == "B" else 0.0) + self._scatter()
        slow = self.rng.random(len(laps)) < driver.slow_share
        laps[slow] += self.rng.uniform(*SLOWER_BY, slow.sum())
        self.runs.append(DrivenRun(self.number, order, group, laps))

    def _scatter(self) -> np.ndarray:
        lag_1 = self.driver.lag_1
        noise = self.rng.normal(
            0.0, self.driver.lap_scatter, self.rng.integers(*LAPS, endpoint=True)
        )
        for lap in range(1, len(noise)):
            noise[lap] = lag_1 * noise[lap - 1] + np.sqrt(1.0 - lag_1**2) * noise[lap]
        return noise


@dataclass(frozen=True)
class Trial:
    """What a team has when it asks: the runs of both groups and the record, and the truth."""

    kind: str
    effect: float
    driver: Driver
    days: list[Day]
    record: list[DrivenRun]

    @property
    def runs(self) -> list[DrivenRun]:
        """All runs of both groups, in the order in which they were driven."""
        return [run for day in self.days for run in day.runs]

    def new_day(self) -> Day:
        """One more day with the same driver, for groups that share none."""
        last = self.days[-1]
        day = Day(last.rng, self.driver, last.number + 1, self.effect, 4)
        self.days.append(day)
        return day


def between(rng: np.random.Generator, ends: tuple[int, int]) -> int:
    """A whole number, both ends among them."""
    return int(rng.integers(*ends, endpoint=True))


def log_uniform(rng: np.random.Generator, ends: tuple[float, float]) -> float:
    """A number whose logarithm is uniform."""
    return float(np.exp(rng.uniform(*np.log(ends))))


def trial(rng: np.random.Generator, kind: str, record_days: int, size: float) -> Trial:
    """One trial of a kind; `size` is that of the effect, s."""
    driver = Driver(
        run_scatter=log_uniform(rng, RUN_SCATTER),
        lap_scatter=rng.uniform(*LAP_SCATTER),
        lag_1=rng.uniform(*LAG_1),
        slow_share=rng.uniform(*SLOW_SHARE),
        day_spread=log_uniform(rng, DAY_SPREAD),
    )
    effect = size * float(rng.choice((-1.0, 1.0)))
    record: list[DrivenRun] = []
    for number in range(record_days):
        runs = between(rng, RECORD_RUNS)
        day = Day(rng, driver, number, 0.0, runs)
        for _ in range(runs):
            day.drive("record")
        record += day.runs
    days = []
    for number, groups in enumerate(_groups(rng, kind), start=record_days):
        day = Day(rng, driver, number, effect, max(2, len(groups)))
        for group in groups:
            day.drive(group)
        days.append(day)
    return Trial(kind, effect, driver, days, record)


def _groups(rng: np.random.Generator, kind: str) -> Iterator[str]:
    if kind != APART:
        yield kind
        return
    for group in "AB":
        for _ in range(between(rng, APART_DAYS)):
            yield group * between(rng, APART_RUNS)


def trials(seed: int, count: int, size: float) -> Iterator[Trial]:
    """`count` trials with an effect of one size, kinds and lengths of record in equal parts."""
    for number in range(count):
        # Of its own, so that a day that is continued leaves the next ones as they are.
        rng = np.random.default_rng([seed, round(size * 1000), number])
        kind = KINDS[number % len(KINDS)]
        yield trial(rng, kind, RECORDS[number // len(KINDS) % len(RECORDS)], size)
