"""'Did it help' on a few of the days written down beforehand; all of them are in tests/benchmarks.

The seed is fixed, and each bound lies four standard deviations or more from what thousands of
days gave, so that another stream of random numbers would not fail it either.
"""

from collections.abc import Sequence

import numpy as np
import pytest

from cars.mechanics import helped
from cars.mechanics.run_levels import Prior, change_of
from tests.mechanics.simulated_days import KINDS, trials
from tests.mechanics.tried_days import Outcome, try_out

SEED = 20
DAYS = 3 * len(KINDS)  # of each effect: every kind with every length of record


def tried(effect: float, days: int = DAYS, *, carry: bool = False) -> list[Outcome]:
    rng = np.random.default_rng(SEED)
    return [try_out(trial, rng, carry=carry) for trial in trials(SEED, days, effect)]


@pytest.fixture(scope="module")
def outcomes() -> list[Outcome]:
    return [*tried(0.0), *tried(0.3)]


def covers(outcomes: Sequence[Outcome]) -> float:
    return float(np.mean([outcome.covers for outcome in outcomes]))


def test_the_interval_holds_the_truth(outcomes: list[Outcome]) -> None:
    """96 of 100: of 42, all but six at the worst."""
    assert covers(outcomes) >= 36 / 42


def test_no_effect_is_hardly_called_one(outcomes: list[Outcome]) -> None:
    """2 of 100: of 21, three at the most."""
    assert sum(outcome.called for outcome in outcomes if outcome.effect == 0.0) <= 3


def test_the_interval_is_no_wider_than_it_must_be(outcomes: list[Outcome]) -> None:
    """Half are 0.5 s wide about, and errors are of the size that the intervals say."""
    widths = [outcome.said.high_s - outcome.said.low_s for outcome in outcomes]
    assert 0.25 < np.median(widths) < 0.8
    standard = [
        (outcome.said.difference_s - outcome.effect) / width
        for outcome, width in zip(outcomes, widths, strict=True)
    ]
    assert np.std(standard) > 0.12


def test_a_bootstrap_over_laps_does_neither(outcomes: list[Outcome]) -> None:
    """58 of 100 and 41 of 100: laps are no runs."""
    assert np.mean([outcome.bootstrap_covers for outcome in outcomes]) < 0.85
    assert sum(outcome.bootstrap_calls for outcome in outcomes if outcome.effect == 0.0) > 3


def test_a_tenth_is_told_with_as_many_runs_as_foretold() -> None:
    """86 of 100, of some twenty."""
    told = [outcome.told for outcome in tried(0.1, 2 * DAYS, carry=True) if outcome.continued]
    assert len(told) >= 10
    assert np.mean(told) > 0.55


def test_it_fails_where_the_estimator_is_broken(monkeypatch: pytest.MonkeyPatch) -> None:
    """With runs said to scatter hardly at all, the interval misses, and is seen to."""

    def sure(*runs: object, **options: object) -> object:
        options["prior"] = Prior(run_scatter=0.001, run_dof=1000.0, day_spread=0.001, day_dof=1000)
        return change_of(*runs, **options)  # type: ignore[arg-type]

    monkeypatch.setattr(helped, "change_of", sure)
    assert covers([*tried(0.0), *tried(0.3)]) < 36 / 42
