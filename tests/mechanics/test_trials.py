"""Many small comparisons against one record, held to 'did it help' one by one."""

import numpy as np
import pytest

from cars.mechanics.errors import BadInput
from cars.mechanics.helped import WORTH_HAVING, TimedRun, did_it_help, verdict_of
from cars.mechanics.laps import RunLaps
from cars.mechanics.run_levels import DAY_SPREADS
from cars.mechanics.run_likelihood import Level, Trend, block_likelihoods, blocks_of, likelihood
from cars.mechanics.trials import Trial, judge_trials

ABA = Trial((0, 2), (1,))


def season(days: int, seed: int = 3) -> list[TimedRun]:
    """Eight runs a day, the middle four as they were after a change that takes 0.3 s off."""
    rng = np.random.default_rng(seed)
    runs = []
    for day in range(days):
        level = rng.normal(7.5, 0.2)
        for order in range(8):
            changed = 2 <= order < 6
            middle = level + rng.normal(0.0, 0.03) - 0.3 * changed
            laps = RunLaps.proposed((middle + rng.normal(0.0, 0.1, 12)).tolist(), 0.1)
            runs.append(TimedRun(day, order, laps, setup=changed))
    return runs


def of_day(day: int, size: int = 8) -> Trial:
    first = size * day
    outside = (0, 1, 6, 7)
    return Trial(
        tuple(first + place for place in outside), tuple(first + place for place in range(2, 6))
    )


@pytest.mark.parametrize("days", [1, 2, 12])
def test_each_is_what_did_it_help_says_of_it(days: int) -> None:
    runs = season(days)
    trials = [of_day(day) for day in range(days)]
    for trial, tried in zip(trials, judge_trials(trials, runs), strict=True):
        one = did_it_help(
            [runs[place] for place in trial.before], [runs[place] for place in trial.after], runs
        )
        assert tried.verdict == one.verdict == "faster"
        assert tried.change is not None
        assert tried.change.mean == pytest.approx(one.difference_s, abs=1e-3)
        assert tried.change.quantile(0.025) == pytest.approx(one.low_s, abs=1e-3)
        assert tried.change.quantile(0.975) == pytest.approx(one.high_s, abs=1e-3)


def test_a_pair_and_an_order_that_does_not_separate_cannot_tell() -> None:
    runs = season(2)
    pair, in_halves = Trial((1,), (2,)), Trial((0, 1), (2, 3))
    for tried in judge_trials([pair, in_halves], runs):
        assert tried.verdict == "cannot tell"
        assert tried.change is None
    told = judge_trials([pair, of_day(1)], runs)
    assert [one.verdict for one in told] == ["cannot tell", "faster"]


def test_the_same_car_there_and_back_is_no_faster() -> None:
    runs = [run for run in season(6) if run.setup]
    first, *_ = [place for place, run in enumerate(runs) if run.day == 5]
    (tried,) = judge_trials([Trial((first, first + 2), (first + 1,))], runs)
    assert tried.verdict in {"cannot tell", "no difference worth having"}


def test_which_trials_are_asked_together_changes_none() -> None:
    runs = season(5)
    trials = [of_day(day) for day in range(5)]
    together = [one.change.mean for one in judge_trials(trials, runs) if one.change]
    for some in (slice(None, None, -1), slice(2, 3)):
        again = [one.change.mean for one in judge_trials(trials[some], runs) if one.change]
        assert again == together[some]


@pytest.mark.parametrize("by", [-0.4, -0.05, -0.02, 0.0, 0.03, 0.08, 0.5])
@pytest.mark.parametrize("days", [1, 30])
def test_the_verdict_is_that_of_the_interval(days: int, by: float) -> None:
    runs = [
        TimedRun(
            run.day, run.order, _moved(run.laps, 0.3 + by if run.setup else 0.0), setup=run.setup
        )
        for run in season(days)
    ]
    (tried,) = judge_trials([of_day(0)], runs)
    assert tried.change is not None
    low, high = tried.change.quantile(0.025), tried.change.quantile(0.975)
    assert tried.verdict == verdict_of(low, high, WORTH_HAVING, pair=False, separates=True)


def _moved(laps: RunLaps, by: float) -> RunLaps:
    return RunLaps(tuple(lap + by for lap in laps.seconds), laps.counted)


def test_no_worth_is_refused() -> None:
    with pytest.raises(BadInput, match="worth"):
        judge_trials([ABA], season(1), worth=0.0)


def test_blocks_are_the_likelihood_of_days_that_may_lie_anywhere() -> None:
    """Differences over the scatter, for what does not hang on it is left out."""
    rng = np.random.default_rng(2)
    runs = [
        Level(day, order, 0.0, rng.normal(7.5, 0.2), 0.001)
        for day in range(4)
        for order in range(5)
    ]
    scatters = np.array([0.02, 0.05, 0.1, 0.3])
    for trend in (None, Trend()):
        part = blocks_of(runs, trend, change=False, laps_open=True)
        whole = likelihood(part, scatters, np.array([10.0 * DAY_SPREADS[1]])).log_likelihood[:, 0]
        each = block_likelihoods(part, scatters)
        assert each.shape == (4, 4)
        assert np.diff(each.sum(axis=1)) == pytest.approx(np.diff(whole), abs=1e-3)
