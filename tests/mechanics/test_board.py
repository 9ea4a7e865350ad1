"""The odd one out, against simulation; and what came of a figure that was named."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import norm

from cars.mechanics.board import NORMAL, ODD_FROM, field_of, followed, small_sample
from cars.mechanics.errors import BadInput, TooThin

# Croux and Rousseeuw, Computational Statistics 1 (1992) 411, from memory; from 10 on n / (n - 0.8).
PUBLISHED = {4: 1.363, 5: 1.206, 6: 1.200, 7: 1.140, 8: 1.129, 9: 1.107}
FIELDS = 60_000


def test_the_median_deviation_of_a_normal_is_its_quartile() -> None:
    assert pytest.approx(1 / norm.ppf(0.75), abs=1e-6) == NORMAL


@pytest.mark.parametrize("cars", range(4, 15))
def test_few_cars_against_simulated_even_fields(cars: int) -> None:
    """Standard normal fields, seeded: spread 1 in the mean, one in twenty with an odd one."""
    fields = np.random.default_rng(cars).standard_normal((FIELDS, cars))
    away = np.abs(fields - np.median(fields, axis=1, keepdims=True))
    spread = small_sample(cars) * NORMAL * np.median(away, axis=1)
    assert spread.mean() == pytest.approx(1.0, abs=0.01)
    odd = (away.max(axis=1) / spread >= ODD_FROM.get(cars, 4.1)).mean()
    assert 0.042 < odd < 0.055
    published = PUBLISHED.get(cars, cars / (cars - 0.8))
    assert small_sample(cars) == pytest.approx(published, rel=0.015)


@pytest.mark.parametrize("cars", range(4, 13))
def test_the_computation_is_that_of_the_simulation(cars: int) -> None:
    values = np.random.default_rng(100 + cars).standard_normal(cars) * 3.0 + 50.0
    field = field_of(values.tolist(), 1e-6)
    spread = small_sample(cars) * NORMAL * np.median(np.abs(values - np.median(values)))
    assert field.spread == pytest.approx(spread)
    assert field.scores == pytest.approx((values - np.median(values)) / spread)


def test_on_sixteenths_the_tool_is_the_floor() -> None:
    sixteenth = 25.4 / 16
    u = sixteenth / 12**0.5
    alike = [57.15] * 11
    one_step = field_of([*alike, 57.15 + sixteenth], u)
    assert one_step.spread == 0
    assert one_step.odd == []
    two_steps = field_of([*alike, 57.15 - 2 * sixteenth], u)
    assert two_steps.odd == [11]
    assert two_steps.scores[11] == pytest.approx(-2 * 12**0.5)


def test_the_oddest_comes_first() -> None:
    assert field_of([0, 0, 0, 0, 0, 50, 0, -90], 1).odd == [7, 5]


VALUES = st.lists(st.integers(-400, 400), min_size=4, max_size=12)


@given(VALUES, st.integers(-1000, 1000), st.sampled_from([25.4, 0.45359237, 6.894757, -1.0]))
def test_scores_know_neither_shift_nor_unit_nor_order(
    values: list[int], shift: int, unit: float
) -> None:
    plain = field_of(values, 2.0)
    moved = field_of([(value + shift) * unit for value in values], 2.0 * abs(unit))
    sign = 1 if unit > 0 else -1
    assert moved.scores == pytest.approx([sign * score for score in plain.scores], abs=1e-7)
    assert moved.spread == pytest.approx(plain.spread * abs(unit), abs=1e-7)
    backwards = field_of(values[::-1], 2.0)
    assert backwards.scores == plain.scores[::-1]
    assert (backwards.middle, backwards.spread) == (plain.middle, plain.spread)


def test_what_it_refuses() -> None:
    with pytest.raises(TooThin):
        field_of([1, 2, 3], 1)
    with pytest.raises(BadInput):
        field_of([1, 2, 3, 4], 0)
    with pytest.raises(BadInput):
        field_of([1, 2, 3, float("nan")], 1)


@pytest.mark.parametrize(
    ("before", "after", "said"),
    [
        (60.0, 65.0, "there"),
        (60.0, 63.6, "there"),
        (60.0, 62.0, "towards"),
        (60.0, 58.0, "away"),
        (60.0, 60.5, "cannot tell"),
        (60.0, 70.0, "cannot tell"),  # past it, and as far off
    ],
)
def test_what_came_of_a_figure(before: float, after: float, said: str) -> None:
    """Twice sqrt(0.4^2 + 0.3^2) is 1.0: JCGM 100:2008, 6.3.3."""
    told = followed(65.0, before, after, u_before=0.4, u_after=0.3, tolerance=1.5)
    assert told == said
