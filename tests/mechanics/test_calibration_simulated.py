"""Calibration proven on thousands of cars whose truth is known.

Seeds are fixed so that a failure can be looked into; other seeds were tried and pass too.
"""

from collections.abc import Iterator
from itertools import islice

import numpy as np
import pytest

from cars.mechanics import (
    Calibrated,
    Chassis,
    Multipliers,
    Noise,
    Observation,
    Prior,
    Response,
    calibrate,
    response,
)
from cars.mechanics.observations import difference_covariance
from cars.mechanics.sensitivity import multiplied
from tests.mechanics.car_cases import random_chassis
from tests.mechanics.simulated_cars import (
    AFTER,
    FAULTS,
    HALF_STEP,
    HEIGHTS,
    LOADS,
    PAD,
    Outcome,
    Readings,
    draw_faults,
    simulate,
    some_turns,
)

CARS = 1200


@pytest.fixture(scope="module")
def sound() -> dict[int, Outcome]:
    return simulate(20, CARS, faulty=False)


@pytest.fixture(scope="module")
def faulty() -> dict[int, Outcome]:
    return simulate(21, CARS, faulty=True)


@pytest.mark.parametrize(("changes", "most"), [(5, 0.50), (10, 0.35), (20, 0.25)])
def test_predictions_come_nearer_to_the_truth(
    sound: dict[int, Outcome], changes: int, most: float
) -> None:
    assert sound[changes].gain() < most
    assert sound[changes].nearer() > 0.75


@pytest.mark.parametrize("changes", AFTER)
def test_stated_intervals_cover_the_truth(sound: dict[int, Outcome], changes: int) -> None:
    assert 0.93 <= sound[changes].coverage() <= 0.97


def test_more_changes_teach_more(sound: dict[int, Outcome]) -> None:
    widths = [np.median(sound[changes].u) for changes in AFTER]
    assert widths[0] > 1.2 * widths[1]
    assert widths[1] > 1.2 * widths[2]


def test_sound_observations_are_left_alone(sound: dict[int, Outcome]) -> None:
    assert sound[20].flagged("none") < 0.005


@pytest.mark.parametrize("fault", FAULTS)
def test_one_bad_in_ten_is_flagged_more_often_than_not(
    faulty: dict[int, Outcome], fault: str
) -> None:
    assert len(faulty[20].flags[fault]) > 200
    assert faulty[20].flagged(fault) > 0.5


def test_bad_observations_are_flagged_and_good_ones_beside_them_are_not(
    faulty: dict[int, Outcome],
) -> None:
    assert faulty[20].flagged(*FAULTS) > 0.8
    assert faulty[20].flagged("none") < 0.005


@pytest.mark.parametrize("changes", AFTER)
def test_one_bad_in_ten_does_not_spoil_the_fit(
    sound: dict[int, Outcome], faulty: dict[int, Outcome], changes: int
) -> None:
    assert 0.93 <= faulty[changes].coverage() <= 0.97
    assert faulty[changes].nearer() > 0.75
    assert faulty[changes].gain() < 1.35 * sound[changes].gain()


def test_a_driver_who_sits_otherwise_and_pads_met_at_another_height_are_allowed_for() -> None:
    rng, prior, inside = np.random.default_rng(23), Prior(), []
    noise = Noise(pad=PAD, tape=0.458, level=0.3, total=0.3, shift=300.0)
    for stated, true in some_cars(rng, prior, 600):
        learnt = calibrate(stated, logged(rng, true, noise))
        inside += within_95(rng, learnt, true)
    assert 0.93 <= np.mean(inside) <= 0.97


def some_cars(
    rng: np.random.Generator, prior: Prior, cars: int
) -> Iterator[tuple[Chassis, Response]]:
    """Stated chassis and the response of their hidden truth."""
    for _ in range(cars):
        stated = random_chassis(rng)
        off = np.exp(rng.normal(size=4) * np.sqrt(prior.variances))
        yield stated, response(multiplied(stated, Multipliers(*off)))


def within_95(rng: np.random.Generator, learnt: Calibrated, true: Response) -> list[bool]:
    """Whether stated 95 % intervals of RF load hold the truth, for three sets of turns."""
    inside = []
    for turns in (some_turns(rng) for _ in range(3)):
        told = learnt.change(turns)
        truth = true.loads_per_turn @ np.array(turns)
        inside.append(abs(told.loads.rf - truth[1]) <= 1.96 * told.u_loads.rf)
    return inside


def logged(rng: np.random.Generator, true: Response, noise: Noise) -> list[Observation]:
    """Ten changes with the full noise of the car."""
    spread = np.linalg.cholesky(difference_covariance(true, noise))
    both = np.concatenate((true.loads_per_turn, true.heights_per_turn))
    log = []
    for turns in (some_turns(rng) for _ in range(10)):
        change = both @ np.array(turns) + spread @ rng.normal(size=8)
        loads, heights = np.array(LOADS), np.array(HEIGHTS)
        seen = Readings(turns, loads, loads + change[:4], heights, heights + change[4:])
        log.append(seen.observation(noise))
    return log


def test_weighings_shared_by_neighbouring_changes_do_no_harm() -> None:
    # In a garage the weighing after one change is the one before the next. Their errors are
    # then not independent, as the fit takes them; the intervals still hold.
    rng, prior, inside = np.random.default_rng(24), Prior(), []
    for stated, true in some_cars(rng, prior, 600):
        inside += within_95(rng, calibrate(stated, chained(rng, true)), true)
    assert 0.93 <= np.mean(inside) <= 0.97


def chained(rng: np.random.Generator, true: Response) -> list[Observation]:
    """Ten changes in a row, eleven weighings."""

    def errors() -> tuple[np.ndarray, np.ndarray]:
        return rng.normal(0.0, PAD, 4), rng.uniform(-HALF_STEP, HALF_STEP, 4)

    loads, heights, error, log = np.array(LOADS), np.array(HEIGHTS), errors(), []
    for _ in range(10):
        turns, earlier, error = some_turns(rng), error, errors()
        seen = Readings(turns, loads + earlier[0], loads, heights + earlier[1], heights)
        loads = loads + true.loads_per_turn @ np.array(turns)
        heights = heights + true.heights_per_turn @ np.array(turns)
        seen.loads_after, seen.heights_after = loads + error[0], heights + error[1]
        if min(seen.loads_after) < 5.0:  # a wheel about to lift: the team turns back
            loads, heights = np.array(LOADS), np.array(HEIGHTS)
        log.append(seen.observation())
    return log


def test_faults_come_one_in_ten() -> None:
    drawn = list(islice(draw_faults(np.random.default_rng(1), True), 1000))
    assert sum(fault != "none" for fault in drawn) == 100
    for start in range(0, 1000, 10):
        assert sum(fault != "none" for fault in drawn[start : start + 10]) == 1
