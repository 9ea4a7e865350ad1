"""The line through a weight log and its interval, against statsmodels and simulation."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from cars.mechanics.errors import BadInput, TooThin
from cars.mechanics.growth import forecast_weight

DAYS = [0.0, 31.0, 58.0, 92.0, 120.0, 151.0]
MASSES = [27.1, 27.4, 27.3, 27.9, 28.0, 28.4]
# statsmodels 0.15.0: OLS(y, [1, x]).fit().get_prediction([1, day]), predicted_mean and
# conf_int(obs=True, alpha=0.05).
STATSMODELS = {
    10.0: (27.12943870509014, 26.651367687053693, 27.60750972312659),
    165.0: (28.443525450667106, 27.927527890631463, 28.95952301070275),
    190.0: (28.655474925760164, 28.09216649608602, 29.218783355434308),
}


@pytest.mark.parametrize("day", STATSMODELS)
def test_against_statsmodels(day: float) -> None:
    found = forecast_weight(DAYS, MASSES, day)
    assert (found.expected, found.low, found.high) == pytest.approx(STATSMODELS[day], rel=1e-9)
    assert found.a_day == pytest.approx(0.008477979003722352, rel=1e-9)


def test_against_scipy_linregress() -> None:
    line = stats.linregress(DAYS, MASSES)
    found = forecast_weight(DAYS, MASSES, 200.0)
    assert found.a_day == pytest.approx(line.slope)
    assert found.expected == pytest.approx(line.intercept + 200.0 * line.slope)


def test_nineteen_of_twenty_weighings_lie_within() -> None:
    """A child of 28 kg who gains 10 g a day, weighed to 0.3 kg: 4,000 seeded logs."""
    draws = np.random.default_rng(5)
    inside = 0
    for _ in range(4000):
        seen, next_one = 28 + 0.01 * np.array(DAYS), 28 + 0.01 * 180 + 0.3 * draws.standard_normal()
        found = forecast_weight(DAYS, list(seen + 0.3 * draws.standard_normal(6)), 180.0)
        inside += found.low <= next_one <= found.high
    assert 0.94 < inside / 4000 < 0.96


@given(
    shift=st.floats(-50, 50),
    masses=st.lists(st.floats(20, 60), min_size=4, max_size=6),
    day=st.floats(0, 200),
)
def test_all_heavier_is_the_forecast_heavier(shift: float, masses: list[float], day: float) -> None:
    days = DAYS[: len(masses)]
    one = forecast_weight(days, masses, day)
    other = forecast_weight(days, [each + shift for each in masses], day)
    assert other.expected - one.expected == pytest.approx(shift, abs=1e-6)
    assert other.high - other.low == pytest.approx(one.high - one.low, abs=1e-6)
    assert one.low <= one.expected <= one.high


def test_it_says_when_it_cannot() -> None:
    with pytest.raises(TooThin, match="too few: 3 of 4"):
        forecast_weight(DAYS[:3], MASSES[:3], 100)
    with pytest.raises(TooThin, match="one day"):
        forecast_weight([3.0] * 4, MASSES[:4], 100)
    for days, masses in ((DAYS, MASSES[:5]), ([*DAYS[:5], float("nan")], MASSES)):
        with pytest.raises(BadInput):
            forecast_weight(days, masses, 100)
