"""Whole-number choices: a published knapsack, plain enumeration, and the refusals."""

from itertools import product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cars.mechanics import BadInput
from cars.mechanics.choose import least_cost
from tests.examples import examples

# Knapsack instance P01 of the public KNAPSACK_01 collection: weights, profits, capacity.
WEIGHTS = np.array([23.0, 31.0, 29.0, 44.0, 53.0, 38.0, 63.0, 85.0, 89.0, 82.0])
PROFITS = np.array([92.0, 57.0, 49.0, 68.0, 60.0, 43.0, 67.0, 84.0, 87.0, 72.0])
CAPACITY, OPTIMUM = 165.0, 309.0


def one_rule(rows: np.ndarray, high: float) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    return rows[None, :], np.array([-np.inf]), np.array([high])


def none_or_one(count: int) -> tuple[np.ndarray, np.ndarray]:
    return np.zeros(count), np.ones(count)


def test_the_published_knapsack_is_packed_best() -> None:
    found = least_cost(
        -PROFITS, one_rule(WEIGHTS, CAPACITY), bounds=none_or_one(10), whole=10, seconds=5.0
    )
    assert found is not None
    assert found.proven
    assert -found.cost == OPTIMUM
    assert WEIGHTS @ found.values <= CAPACITY
    assert set(found.values) <= {0.0, 1.0}


@settings(max_examples=examples(40), deadline=None)
@given(st.integers(0, 2**32 - 1), st.integers(1, 6))
def test_small_choices_agree_with_enumeration(seed: int, count: int) -> None:
    rng = np.random.default_rng(seed)
    cost, weight = rng.normal(size=count), rng.uniform(0.0, 5.0, count)
    high = float(rng.uniform(0.0, weight.sum()))
    found = least_cost(
        cost, one_rule(weight, high), bounds=none_or_one(count), whole=count, seconds=5.0
    )
    every = np.array(list(product((0.0, 1.0), repeat=count)))
    assert found is not None
    assert found.cost == pytest.approx((every[every @ weight <= high] @ cost).min(), abs=1e-6)


def test_the_last_values_may_be_real() -> None:
    # Minimise x + y with x + y >= 1.3, x whole: y takes what is left.
    rules = np.array([[1.0, 1.0]]), np.array([1.3]), np.array([np.inf])
    found = least_cost(
        np.array([1.0, 1.5]),
        rules,
        bounds=(np.zeros(2), np.array([1.0, 5.0])),
        whole=1,
        seconds=5.0,
    )
    assert found is not None
    assert found.values.tolist() == pytest.approx([1.0, 0.3])


def test_no_choice_at_all_is_none() -> None:
    rules = np.array([[1.0, 1.0]]), np.array([3.0]), np.array([np.inf])
    found = least_cost(np.ones(2), rules, bounds=none_or_one(2), whole=2, seconds=5.0)
    assert found is None


def test_no_answer_in_time_is_said() -> None:
    rng = np.random.default_rng(3)
    weights = rng.integers(10**5, 10**6, (8, 60)).astype(float)
    half = weights.sum(axis=1) // 2
    with pytest.raises(BadInput, match="no answer within") as refused:
        least_cost(
            np.zeros(60), (weights, half, half), bounds=none_or_one(60), whole=60, seconds=0.05
        )
    assert refused.value.quantity == "choice"
