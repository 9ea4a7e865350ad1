"""Readings that calibration distrusts, and what it does with them."""

import math
import warnings

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import multivariate_normal

from cars.mechanics import (
    Chassis,
    Corners,
    MechanicsError,
    Multipliers,
    Noise,
    Observation,
    OutOfReach,
    Prior,
    Singular,
    calibrate,
    response,
)
from cars.mechanics.observations import KINDS, NOISE_LIMITS, components
from cars.mechanics.sensitivity import multiplied
from tests.examples import examples
from tests.mechanics.car_cases import even_car, random_chassis
from tests.mechanics.logged_cars import by_least_squares, log_of, observed, turning
from tests.mechanics.simulated_cars import HEIGHTS, LOADS, POUND, Readings, read, some_turns


def posterior(stated: Chassis, seen: list[Observation], theta: np.ndarray) -> float:
    """Log posterior at theta, written out with scipy's normal density."""
    car, prior = response(stated), Prior()
    both = turning(multiplied(stated, Multipliers(*np.exp(theta))))
    total = -0.5 * float((theta**2 / prior.variances).sum())
    for one in seen:
        parts = components(car, one.noise, one.has, prior.bad)
        shares_of = [1.0 - prior.bad] + [prior.bad / (len(KINDS) - 1)] * (len(KINDS) - 1)
        miss = one.seen - both @ np.array(one.turns)
        total += np.log(
            sum(
                share * multivariate_normal.pdf(miss, cov=covariance)
                for share, covariance in zip(shares_of, parts.covariances, strict=True)
            )
        )
    return total


def curvature(stated: Chassis, seen: list[Observation], at: np.ndarray) -> np.ndarray:
    """Minus the second differences of the log posterior."""
    steps, found = 1e-3 * np.eye(4), np.empty((4, 4))
    for i, j in np.ndindex(4, 4):
        corners = [
            sign * other * posterior(stated, seen, at + sign * steps[i] + other * steps[j])
            for sign in (1, -1)
            for other in (1, -1)
        ]
        found[i, j] = -sum(corners) / 4e-6
    return found


def test_doubt_about_an_observation_widens_the_answer() -> None:
    # One pad is off by as much as leaves it open whether to believe it; then the curvature
    # of the posterior itself, by differences, says how much is known.
    stated, log = log_of(18, count=3)
    log[1].loads_after[2] -= 1.5 * POUND
    seen = observed(log)
    learnt = calibrate(stated, seen)
    assert 0.2 < learnt.fits[1].probability_good < 0.8
    at = np.log(learnt.multipliers)
    width = np.sqrt(np.diag(np.linalg.inv(curvature(stated, seen, at))))
    assert np.array(learnt.u_log) == pytest.approx(width, rel=0.03)
    turns, trusting = Corners(1.0, -1.0, -1.0, 1.0), calibrate(stated, seen, Prior(bad=1e-6))
    assert learnt.cross_change(turns, LOADS).u > 1.5 * trusting.cross_change(turns, LOADS).u


@pytest.mark.parametrize("corner", range(4))
def test_a_mistyped_load_is_named(corner: int) -> None:
    stated, log = log_of(9)
    log[4].loads_after[corner] += 5 * POUND
    learnt = calibrate(stated, observed(log))
    assert [fit.flagged for fit in learnt.fits] == [place == 4 for place in range(10)]
    assert learnt.fits[4].suspect == f"{('LF', 'RF', 'LR', 'RR')[corner]} load"


@pytest.mark.parametrize("corner", range(4))
def test_a_mistyped_height_is_named(corner: int) -> None:
    stated, log = log_of(10)
    log[0].heights_before[corner] -= 25.4
    learnt = calibrate(stated, observed(log))
    assert [fit.flagged for fit in learnt.fits] == [place == 0 for place in range(10)]
    assert learnt.fits[0].suspect == f"{('LF', 'RF', 'LR', 'RR')[corner]} height"


def test_turns_logged_the_wrong_way_are_named() -> None:
    stated, log = log_of(11)
    log[2].turns = log[2].turns.each(lambda turns: -turns)
    learnt = calibrate(stated, observed(log))
    assert [fit.flagged for fit in learnt.fits] == [place == 2 for place in range(10)]
    assert learnt.fits[2].suspect == "turns"


def test_a_flagged_observation_hardly_moves_the_fit() -> None:
    stated, log = log_of(12)
    clean = calibrate(stated, observed(log[:4] + log[5:]))
    trusting_before, covariance = by_least_squares(stated, log[:4] + log[5:])
    log[4].loads_after += np.array([15.0, -12.0, -9.0, 14.0])
    log[4].heights_after += np.array([40.0, 0.0, -30.0, 20.0])
    learnt = calibrate(stated, observed(log))
    assert learnt.fits[4].flagged
    assert learnt.fits[4].suspect == "everything"
    assert KINDS.index("everything") == 10
    u = np.sqrt(np.diag(covariance))
    moved = np.abs(np.log(learnt.multipliers) - np.log(clean.multipliers)) / u
    trusting_moved = np.abs(by_least_squares(stated, log)[0] - trusting_before) / u
    assert moved.max() < 0.1
    assert trusting_moved.max() > 3.0


def test_rates_far_from_those_stated_are_not_called_calibration() -> None:
    # A spring rate of half as much was put on the chassis page.
    stated, log = log_of(14, count=20, truth=Multipliers(2.2, 2.2, 1.0, 1.0))
    with pytest.raises(OutOfReach, match="check the chassis page") as refused:
        calibrate(stated, observed(log))
    assert refused.value.quantity == "observations"


def test_precise_scales_on_an_unusual_car_are_believed() -> None:
    # Every reading is many of its own deviations from the stated car's, all in one way.
    unusual = Multipliers(*np.exp([0.2, -0.2, 0.3, 0.1]))
    for seed in range(10):
        rng = np.random.default_rng(seed)
        stated, precise = random_chassis(rng), Noise(pad=0.01 * POUND, tape=0.1)
        both, log = turning(multiplied(stated, unusual)), []
        for turns in (some_turns(rng) for _ in range(6)):
            errors = math.sqrt(2.0) * rng.normal(size=8) * ([precise.pad] * 4 + [precise.tape] * 4)
            change = both @ np.array(turns) + errors
            loads, heights = np.array(LOADS), np.array(HEIGHTS)
            seen = Readings(turns, loads, loads + change[:4], heights, heights + change[4:])
            log.append(seen.observation(precise))
        assert not any(fit.flagged for fit in calibrate(stated, log).fits)


def test_nonsense_is_answered_or_out_of_reach_and_never_left_unsettled() -> None:
    # Steps that go too far would swing to and fro for ever on these.
    precise, refused = Noise(pad=0.02, tape=0.1), 0
    for seed in range(40):
        rng = np.random.default_rng(seed)
        stated = random_chassis(rng)
        wild = [
            Observation(
                some_turns(rng), precise, *(Corners.of(rng.uniform(1, 80, 4)) for _ in range(4))
            )
            for _ in range(4)
        ]
        try:
            calibrate(stated, wild)
        except OutOfReach:
            refused += 1
    assert 5 <= refused <= 35


@settings(max_examples=examples(60), deadline=None)
@given(st.integers(0, 2**32 - 1), st.floats(0.01, 40.0))
def test_any_readings_give_an_answer_or_a_refusal(seed: int, size: float) -> None:
    rng = np.random.default_rng(seed)
    wild = [
        read(rng, some_turns(rng), rng.normal(0.0, size, 8).clip(-25.0, 25.0)).observation()
        for _ in range(rng.integers(1, 9))
    ]
    try:
        learnt = calibrate(random_chassis(rng), wild)
    except (OutOfReach, Singular):
        return
    assert np.linalg.eigvalsh(learnt.covariance).min() > 0.0
    assert all(math.isfinite(value) for value in learnt.multipliers)
    assert all(0.0 <= fit.probability_good <= 1.0 for fit in learnt.fits)


figures = st.one_of(st.floats(0.0, 100.0), st.floats(0.0, 1e5), st.floats(1e-6, 1e-3))
four = st.builds(Corners, figures, figures, figures, figures)
turned = st.builds(Corners, *[st.floats(-100.0, 100.0)] * 4)
noises = st.builds(
    Noise, *[st.floats(low, high) | st.floats(0.01, 1.0) for low, high in NOISE_LIMITS.values()]
)


@settings(max_examples=examples(200), deadline=None)
@given(turned, noises, st.lists(four, min_size=4, max_size=4))
def test_extremes_never_return_nan(turns: Corners, noise: Noise, figures: list[Corners]) -> None:
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        try:
            learnt = calibrate(even_car(), [Observation(turns, noise, *figures)])
            told = learnt.cross_change(turns, figures[0], noise)
        except MechanicsError:
            return
    assert all(map(math.isfinite, (*learnt.multipliers, *learnt.u_log, told.low, told.high)))
    assert math.isfinite(told.u_reading)
    assert math.isfinite(learnt.fits[0].probability_good)
