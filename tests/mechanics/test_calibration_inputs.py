"""What goes into a calibration: slopes, covariances, and figures that are refused."""

import math
from typing import Any

import numpy as np
import pytest

from cars.mechanics import (
    BadInput,
    Corners,
    Multipliers,
    Noise,
    Observation,
    Prior,
    calibrate,
    response,
)
from cars.mechanics.observations import MOST_TURNS, difference_covariance
from cars.mechanics.sensitivity import TurnModel, multiplied
from tests.mechanics.car_cases import even_car, random_chassis
from tests.mechanics.logged_cars import turning
from tests.mechanics.simulated_cars import HEIGHTS, LOADS, NOISE, PAD, TAPE


@pytest.mark.parametrize("seed", range(4))
def test_slopes_are_those_of_the_public_response(seed: int) -> None:
    rng = np.random.default_rng(seed)
    car = random_chassis(rng, rear_axle=rng.choice(["solid", "independent"]))
    theta, step = rng.normal(0.0, 0.2, 4), 1e-5
    value, slope = TurnModel(car).at(theta)
    assert value == pytest.approx(turning(multiplied(car, Multipliers(*np.exp(theta)))), rel=1e-9)
    for place, ahead in enumerate(np.eye(4) * step):
        up, down = (Multipliers(*np.exp(theta + sign * ahead)) for sign in (1, -1))
        numeric = (turning(multiplied(car, up)) - turning(multiplied(car, down))) / (2 * step)
        assert slope[place] == pytest.approx(numeric, abs=1e-7)


def test_the_covariance_of_a_difference_is_that_of_simulated_weighings() -> None:
    rng = np.random.default_rng(15)
    car = response(random_chassis(rng))
    noise = Noise(pad=0.1, tape=0.4, level=0.5, total=0.6, shift=400.0)
    middle, count = 0.5 * car.chassis.wheelbase, 20_000
    pads = np.concatenate((car.loads_per_pad_mm, car.heights_per_pad_mm))

    def weight(x: float, y: float) -> np.ndarray:
        return np.array([*car.loads_per_kg(x, y), *car.heights_per_kg(x, y)])

    def weighing() -> np.ndarray:
        errors = rng.normal(size=(count, 8)) * ([0.1] * 4 + [0.4] * 4)
        return errors + rng.normal(0.0, 0.5, (count, 4)) @ pads.T

    fuel = np.outer(rng.normal(0.0, 0.6, count), weight(middle, 0.0))
    ways = (
        weight(middle + 10, 0.0) - weight(middle, 0.0),
        weight(middle, 10.0) - weight(middle, 0.0),
    )
    driver = sum(np.outer(rng.normal(0.0, 40.0, count), way) for way in ways)  # 40 kg, 10 mm
    drawn = np.cov((weighing() - weighing() + fuel + driver).T)
    expected = difference_covariance(car, noise)
    spread = np.sqrt(np.outer(np.diag(expected), np.diag(expected)))
    assert np.abs(drawn - expected).max() < 0.04 * spread.max()
    assert (drawn / spread) == pytest.approx(expected / spread, abs=0.04)


GOOD = {
    "loads_before": LOADS,
    "loads_after": LOADS,
    "heights_before": HEIGHTS,
    "heights_after": HEIGHTS,
}
TURNS = Corners(1.0, 0.0, 0.0, 0.0)


@pytest.mark.parametrize(
    ("turns", "changed", "named"),
    [
        (Corners.same(0.0), {}, "turns"),
        (Corners(math.nan, 0.0, 0.0, 0.0), {}, "turns LF"),
        (Corners(0.0, 1e3, 0.0, 0.0), {}, "turns RF"),
        (TURNS, {"loads_after": None}, "loads"),
        (TURNS, {"heights_before": None}, "heights"),
        (TURNS, dict.fromkeys(GOOD), "loads"),
        (TURNS, {"loads_before": Corners.same(0.0)}, "loads_before"),
        (TURNS, {"loads_after": LOADS._replace(lr=-3.0)}, "loads_after LR"),
        (TURNS, {"heights_after": HEIGHTS._replace(rr=math.inf)}, "heights_after RR"),
    ],
)
def test_an_observation_that_cannot_be_is_named(
    turns: Corners, changed: dict[str, Any], named: str
) -> None:
    with pytest.raises(BadInput) as refused:
        Observation(turns, NOISE, **{**GOOD, **changed})
    assert refused.value.quantity == named


@pytest.mark.parametrize(
    ("changed", "named"),
    [
        ({"pad": 0.0}, "pad"),
        ({"tape": -0.4}, "tape"),
        ({"pad": 1e-9}, "pad"),
        ({"level": -1.0}, "level"),
        ({"total": math.nan}, "total"),
        ({"shift": math.inf}, "shift"),
    ],
)
def test_readings_are_never_exact_and_never_nonsense(changed: dict[str, Any], named: str) -> None:
    with pytest.raises(BadInput) as refused:
        Noise(**{"pad": PAD, "tape": TAPE, **changed})
    assert refused.value.quantity == named


@pytest.mark.parametrize("name", ["front", "rear", "tyre", "thread", "bad"])
@pytest.mark.parametrize("value", [0.0, -0.1, 5.0, math.nan])
def test_a_prior_that_pins_or_frees_everything_is_named(name: str, value: float) -> None:
    with pytest.raises(BadInput) as refused:
        Prior(**{name: value})
    assert refused.value.quantity == f"prior {name}"


@pytest.mark.parametrize(
    ("name", "least", "most"),
    [*((name, 1e-4, 2.0) for name in ("front", "rear", "tyre", "thread")), ("bad", 1e-6, 0.5)],
)
def test_a_prior_goes_as_far_as_it_says(name: str, least: float, most: float) -> None:
    for allowed in (least, most):
        assert getattr(Prior(**{name: allowed}), name) == allowed
    for refused in (0.99 * least, 1.01 * most):
        with pytest.raises(BadInput, match=f"^prior {name}"):
            Prior(**{name: refused})


def test_turns_and_loads_asked_about_are_checked() -> None:
    learnt = calibrate(even_car(), [])
    with pytest.raises(BadInput) as refused:
        learnt.change(Corners(0.0, 0.0, math.inf, 0.0))
    assert refused.value.quantity == "turns LR"
    with pytest.raises(BadInput):
        learnt.cross_change(TURNS, Corners.same(0.0))
    with pytest.raises(BadInput):
        learnt.cross_change(Corners.same(math.nan), LOADS)


@pytest.mark.parametrize("turned", [1.001 * MOST_TURNS, -1.001 * MOST_TURNS])
def test_turns_beyond_all_thread_are_refused_wherever_they_are_asked_about(turned: float) -> None:
    learnt, turns = calibrate(even_car(), []), Corners(0.0, turned, 0.0, 0.0)
    with pytest.raises(BadInput) as of_change:
        learnt.change(turns)
    with pytest.raises(BadInput) as of_share:
        learnt.share_change("cross", turns, LOADS)
    assert of_change.value.quantity == of_share.value.quantity == "turns RF"
