"""The spread of laps, held to scipy's, and how often its interval holds."""

import math
import random

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import median_abs_deviation

from cars.mechanics.errors import TooThin
from cars.mechanics.steadiness import steadiness_of

TIMES = st.lists(st.integers(6000, 9000), min_size=12, max_size=40)


@given(TIMES)
def test_one_run_is_scipys_deviation(milliseconds: list[int]) -> None:
    times = [each / 1000 for each in milliseconds]
    n = len(times)
    # scipy.stats.median_abs_deviation(scale="normal"), widened for the middle taken from the laps.
    expected = median_abs_deviation(times, center=np.mean, scale="normal") * math.sqrt(n / (n - 1))
    assert steadiness_of([times]).spread_s == pytest.approx(expected, abs=1e-9)


@given(TIMES, st.integers(-3000, 3000))
def test_a_faster_day_is_no_spread(milliseconds: list[int], faster: int) -> None:
    one = [each / 1000 for each in milliseconds]
    other = [each + faster / 1000 for each in one]
    both, twice = steadiness_of([one, other]), steadiness_of([one, one])
    assert both.spread_s == pytest.approx(twice.spread_s, abs=1e-9)


def test_the_interval_holds_as_often_as_it_says() -> None:
    chance, drawn, held = random.Random(20), 600, 0
    for _ in range(drawn):
        runs = [[chance.gauss(7.4, 0.2) for _ in range(8)] for _ in range(5)]
        found = steadiness_of(runs)
        held += found.low_s <= 0.2 <= found.high_s
    # 95 %, by four standard deviations of so many draws.
    assert held / drawn == pytest.approx(0.95, abs=4 * math.sqrt(0.95 * 0.05 / drawn))


def test_what_counts() -> None:
    found = steadiness_of([[7.0, 7.1, 7.2] * 4, [5.0, 9.0]])
    assert (found.laps, found.runs) == (12, 1)
    assert found.steady == 12
    with pytest.raises(TooThin):
        steadiness_of([[7.0, 7.1, 7.2] * 3, [7.0, 7.1]])
