"""What 'did it help' says of simulated days, beside a bootstrap over their laps."""

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from cars.mechanics.helped import Help, TimedRun, did_it_help
from cars.mechanics.laps import RunLaps, usual_spread
from cars.mechanics.more_runs import next_group
from tests.mechanics.simulated_days import APART, RUN_SCATTER, DrivenRun, Trial

RESAMPLES = 400
MOST_TOTAL, LEAST_TOTAL = 40, 4
FORETOLD = 0.1  # s, the effect that runs are foretold for
THIRDS = np.geomspace(RUN_SCATTER[0], RUN_SCATTER[1], 4)


@dataclass(frozen=True)
class Outcome:
    """One trial: the truth and what was said of it."""

    kind: str
    effect: float
    run_scatter: float
    record: int  # runs
    said: Help
    bootstrap: tuple[float, float]
    total: int | None  # runs foretold in all
    continued: Help | None  # said after that many

    @property
    def covers(self) -> bool:
        return self.said.low_s <= self.effect <= self.said.high_s

    @property
    def called(self) -> bool:
        return self.said.verdict in ("faster", "slower")

    @property
    def told(self) -> bool:
        """Whether the continued day told the effect, and with its sign."""
        wanted = "slower" if self.effect > 0.0 else "faster"
        return self.continued is not None and self.continued.verdict == wanted

    @property
    def bootstrap_covers(self) -> bool:
        return self.bootstrap[0] <= self.effect <= self.bootstrap[1]

    @property
    def bootstrap_calls(self) -> bool:
        return self.bootstrap[0] > 0.0 or self.bootstrap[1] < 0.0

    @property
    def third(self) -> int:
        return int(np.searchsorted(THIRDS[1:3], self.run_scatter))


def ask(trial: Trial) -> Help:
    """As a team would: laps marked by the rule, all runs of the record given."""
    driven = [*trial.record, *trial.runs]
    spread = usual_spread([run.laps.tolist() for run in driven])

    def timed(runs: Iterable[DrivenRun]) -> list[TimedRun]:
        return [
            TimedRun(run.day, run.order, RunLaps.proposed(run.laps.tolist(), spread))
            for run in runs
        ]

    return did_it_help(
        timed(run for run in trial.runs if run.group == "A"),
        timed(run for run in trial.runs if run.group == "B"),
        timed(trial.record),
    )


def bootstrap(trial: Trial, rng: np.random.Generator) -> tuple[float, float]:
    """The 95 % interval of a bootstrap over laps: what this is not. Means of the laps counted."""
    means = []
    for group in "AB":
        laps = []
        for run in trial.runs:
            if run.group == group:
                counted = RunLaps.proposed(run.laps.tolist()).counted
                laps += [lap for lap, counts in zip(run.laps, counted, strict=True) if counts]
        means.append(rng.choice(laps, (RESAMPLES, len(laps))).mean(axis=1))
    low, high = np.quantile(means[1] - means[0], (0.025, 0.975))
    return float(low), float(high)


def carry_on(trial: Trial, more: int) -> None:
    """Drive `more` runs, the next group each time; groups that share no day get a day for it."""
    day = trial.new_day() if trial.kind == APART else trial.days[-1]
    for _ in range(more):
        after = [float(run.group == "B") for run in day.runs]
        day.drive("B" if next_group(after) == "after" else "A")


def try_out(trial: Trial, rng: np.random.Generator, *, carry: bool = True) -> Outcome:
    """One trial; a day for which 4 to 40 runs in all are foretold is continued to that number.

    Where no more are needed, none are foretold.
    """
    said = ask(trial)
    total = len(trial.runs) + said.runs_needed if said.runs_needed else None
    looked_at = bootstrap(trial, rng)
    continued = None
    if (
        carry
        and total is not None
        and LEAST_TOTAL <= total <= MOST_TOTAL
        and abs(trial.effect) == FORETOLD
    ):
        carry_on(trial, said.runs_needed or 0)
        continued = ask(trial)
    return Outcome(
        trial.kind,
        trial.effect,
        trial.driver.run_scatter,
        len(trial.record),
        said,
        looked_at,
        total,
        continued,
    )
