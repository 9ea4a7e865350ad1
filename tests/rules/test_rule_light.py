"""The risk of being light after the race, against the normal distribution of the standard library
and a simulation with numpy."""

import math
from statistics import NormalDist
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from clubsetup.quantities.uncertainty import Estimate
from events.rules.light import (
    LightError,
    Race,
    at_the_scales,
    between,
    margin_for,
    risk_of_light,
    to_add,
)

NONE = Race(laps=0, burn=0.0, u_burn=0.0, filled=0.0, scales_apart=0.0)


def race(**given: Any) -> Race:
    usual: dict[str, Any] = {
        "laps": 20,
        "burn": 0.0136,
        "u_burn": 0.3,
        "filled": 0.0,
        "scales_apart": 0.2268,
    }
    return Race(**{**usual, **given})


def test_what_is_burnt_is_off_and_what_is_filled_is_on() -> None:
    found = at_the_scales(Estimate(145.0, 0.05), race(filled=0.5))
    assert found.value == pytest.approx(145.0 + 0.5 - 20 * 0.0136)


def test_the_doubts_add_as_squares() -> None:
    # u0 0.05, fuel 20 x 0.0136 x 0.3, scales 0.2268 / sqrt 3.
    found = at_the_scales(Estimate(145.0, 0.05), race())
    assert found.u == pytest.approx(math.sqrt(0.05**2 + 0.0816**2 + 0.2268**2 / 3))


def test_nothing_between_changes_nothing() -> None:
    assert at_the_scales(Estimate(145.0, 0.05), NONE) == Estimate(145.0, 0.05)


def test_the_risk_is_the_normal_distributions() -> None:
    weight = Estimate(145.3, 0.2)
    assert risk_of_light(weight, 145.0) == pytest.approx(NormalDist(145.3, 0.2).cdf(145.0))


@pytest.mark.parametrize(
    ("z", "phi"), [(0.0, 0.5), (-1.0, 0.158655), (-1.645, 0.049985), (-2.0, 0.022750)]
)
def test_the_risk_against_a_printed_table(z: float, phi: float) -> None:
    # Phi(z) to six places, as tables of the standard normal distribution print it.
    assert risk_of_light(Estimate(145.0 - z * 0.2, 0.2), 145.0) == pytest.approx(phi, abs=5e-7)


@given(st.floats(130, 160), st.floats(0.01, 3), st.floats(0, 10), st.floats(0, 10))
def test_more_weight_never_raises_the_risk(now: float, u: float, one: float, other: float) -> None:
    less, more = sorted((one, other))
    risks = [risk_of_light(Estimate(now + add, u), 145.0) for add in (less, more)]
    assert risks[0] >= risks[1]


@given(st.integers(0, 100), st.integers(0, 100))
def test_more_laps_never_lower_it_while_the_scales_doubt_stays(one: int, other: int) -> None:
    few, many = sorted((one, other))
    risks = [
        risk_of_light(at_the_scales(Estimate(146.0, 0.05), race(laps=laps, u_burn=0.0)), 145.0)
        for laps in (few, many)
    ]
    assert risks[0] <= risks[1]


@given(st.floats(0.0, 2.0), st.floats(0.001, 0.5))
def test_the_margin_is_the_quantile_of_the_normal_distribution(u: float, risk: float) -> None:
    assert margin_for(u, risk) == pytest.approx(stats.norm.isf(risk, scale=u) if u else 0.0)


def test_what_lies_between_is_told_apart_from_the_car() -> None:
    more, car = between(race(filled=0.5)), Estimate(145.0, 0.05)
    assert at_the_scales(car, race(filled=0.5)) == Estimate(
        car.value + more.value, math.hypot(car.u, more.u)
    )


def test_without_doubt_the_minimum_itself_is_not_light() -> None:
    assert risk_of_light(Estimate(145.0), 145.0) == 0.0
    assert risk_of_light(Estimate(144.9), 145.0) == 1.0


def test_against_a_simulation() -> None:
    # 400,000 cars: the share of light ones is known to about 0.0008 (2 s).
    draw = np.random.default_rng(7)
    n = 400_000
    simulated = (
        draw.normal(145.3, 0.05, n)
        - 20 * 0.0136 * draw.normal(1, 0.3, n)
        + draw.uniform(-0.2268, 0.2268, n)
    )
    said = risk_of_light(at_the_scales(Estimate(145.3, 0.05), race()), 145.0)
    # The rectangle of the scales is not normal: a percent or two of difference is the model's.
    assert said == pytest.approx(float((simulated < 145.0).mean()), abs=0.02)


@given(st.floats(140, 150), st.floats(0.01, 0.5), st.integers(0, 100), st.floats(0.001, 0.5))
def test_adding_it_brings_the_risk_down_to_what_was_asked(
    now: float, u: float, laps: int, risk: float
) -> None:
    weight = at_the_scales(Estimate(now, u), race(laps=laps))
    add = to_add(weight, 145.0, risk)
    then = risk_of_light(Estimate(weight.value + add, weight.u), 145.0)
    assert add >= 0
    assert then <= risk + 1e-9
    if add:
        assert then == pytest.approx(risk)


@given(st.floats(0.001, 0.5), st.floats(0.001, 0.5))
def test_less_risk_takes_more_ballast(one: float, other: float) -> None:
    weight = at_the_scales(Estimate(144.0, 0.05), race())
    low, high = sorted((one, other))
    assert to_add(weight, 145.0, low) >= to_add(weight, 145.0, high)


@pytest.mark.parametrize("risk", [0.0, -0.1, 0.6, math.nan])
def test_what_is_no_risk_to_accept_is_refused(risk: float) -> None:
    with pytest.raises(LightError):
        to_add(Estimate(145.0, 0.1), 145.0, risk)


@pytest.mark.parametrize("name", ["laps", "burn", "u_burn", "filled", "scales_apart"])
@pytest.mark.parametrize("value", [-1.0, math.nan, math.inf])
def test_what_cannot_be_is_refused(name: str, value: float) -> None:
    with pytest.raises(LightError):
        race(**{name: value})
