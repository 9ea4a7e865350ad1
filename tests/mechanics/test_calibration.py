"""What calibration says of one car: its rates, its doubts, and the readings it distrusts."""

import math
from itertools import pairwise

import numpy as np
import pytest
from car_cases import even_car, random_chassis
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import least_squares
from scipy.stats import multivariate_normal
from simulated_cars import HEIGHTS, LOADS, NOISE, PAD, POUND, TAPE, Readings, read, some_turns

from cars.mechanics import (
    BadInput,
    Chassis,
    Corners,
    Multipliers,
    Noise,
    Observation,
    OutOfReach,
    Prior,
    Singular,
    calibrate,
    response,
    shares,
)
from cars.mechanics.observations import KINDS, components, difference_covariance
from cars.mechanics.sensitivity import TurnModel, multiplied

TRUTH = Multipliers(front=1.15, rear=0.90, tyre=0.85, thread=1.06)


def turning(car: Chassis) -> np.ndarray:
    """Loads above heights per turn, 8x4, by the public response."""
    ours = response(car)
    return np.concatenate((ours.loads_per_turn, ours.heights_per_turn))


def log_of(
    seed: int, count: int = 10, truth: Multipliers = TRUTH
) -> tuple[Chassis, list[Readings]]:
    """A car and the readings of its logged changes."""
    rng = np.random.default_rng(seed)
    stated = random_chassis(rng)
    both = turning(multiplied(stated, truth))
    turns = [some_turns(rng) for _ in range(count)]
    return stated, [read(rng, each, both @ np.array(each)) for each in turns]


def observed(log: list[Readings]) -> list[Observation]:
    return [seen.observation() for seen in log]


def by_least_squares(stated: Chassis, log: list[Readings]) -> tuple[np.ndarray, np.ndarray]:
    """The same fit without doubt of any observation, by scipy's general least squares."""
    prior = np.sqrt(Prior().variances)
    scale = np.array([PAD] * 4 + [TAPE] * 4) * math.sqrt(2.0)

    def misses(theta: np.ndarray) -> np.ndarray:
        both = turning(multiplied(stated, Multipliers(*np.exp(theta))))
        seen = [one.observation().seen - both @ np.array(one.turns) for one in log]
        return np.concatenate([*(miss / scale for miss in seen), theta / prior])

    found = least_squares(misses, np.zeros(4), xtol=1e-12, ftol=1e-12)
    return found.x, np.linalg.inv(found.jac.T @ found.jac)


@pytest.mark.parametrize("seed", range(5))
def test_a_sound_log_agrees_with_general_least_squares(seed: int) -> None:
    # scipy.optimize.least_squares with its own numerical slopes. What is left is the little
    # doubt that every observation keeps.
    stated, log = log_of(seed)
    theta, covariance = by_least_squares(stated, log)
    learnt = calibrate(stated, observed(log))
    assert not any(fit.flagged for fit in learnt.fits)
    u = np.sqrt(np.diag(covariance))
    assert np.abs(np.log(learnt.multipliers) - theta).max() < 0.15 * u.max()
    assert np.array(learnt.u_log) == pytest.approx(u, rel=0.10)


@pytest.mark.parametrize("seed", range(5))
def test_without_doubt_it_is_general_least_squares(seed: int) -> None:
    stated, log = log_of(seed, count=4)
    theta, covariance = by_least_squares(stated, log)
    learnt = calibrate(stated, observed(log), Prior(bad=1e-6))
    u = np.sqrt(np.diag(covariance))
    assert np.log(learnt.multipliers) / u == pytest.approx(theta / u, abs=2e-3)
    assert np.array(learnt.u_log) == pytest.approx(u, rel=2e-3)


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


def test_a_good_log_finds_the_truth() -> None:
    stated, log = log_of(1, count=200)
    learnt = calibrate(stated, observed(log))
    misses = np.log(np.array(learnt.multipliers) / np.array(TRUTH)) / np.array(learnt.u_log)
    assert np.abs(misses).max() < 3.0
    front, rear, tyre, thread = learnt.u_log
    assert max(front, rear, thread) < 0.04
    # Turning seats loads a spring and its tyre in series: which of the two is soft hardly
    # shows, so the tyre stays nearly as unknown as it was.
    assert 0.10 < tyre < Prior().tyre


def test_without_observations_the_prior_speaks() -> None:
    car, prior = even_car(), Prior(front=0.2, thread=0.03)
    learnt = calibrate(car, [], prior)
    assert learnt.multipliers == Multipliers(1.0, 1.0, 1.0, 1.0)
    assert learnt.covariance == pytest.approx(np.diag(prior.variances))
    assert learnt.u_log == pytest.approx(Multipliers(0.2, 0.1, 0.15, 0.03))
    assert learnt.chassis == car
    assert learnt.fits == ()


def test_the_calibrated_chassis_does_what_the_prediction_says() -> None:
    stated, log = log_of(2)
    learnt = calibrate(stated, observed(log))
    turns = Corners(1.0, -0.5, 0.0, 2.0)
    expected = turning(learnt.chassis) @ np.array(turns)
    told = learnt.change(turns)
    assert [*told.loads, *told.heights] == pytest.approx(expected, rel=1e-9)


def test_predicted_stands_beside_observed() -> None:
    stated, log = log_of(3)
    learnt = calibrate(stated, observed(log))
    assert len(learnt.fits) == len(log)
    for fit, seen in zip(learnt.fits, log, strict=True):
        told = learnt.change(seen.turns)
        assert fit.predicted_loads == pytest.approx(told.loads)
        assert fit.predicted_heights == pytest.approx(told.heights)
        assert fit.observed_loads == pytest.approx(seen.loads_after - seen.loads_before)
        assert fit.observed_heights == pytest.approx(seen.heights_after - seen.heights_before)
        assert np.abs(np.subtract(fit.predicted_loads, fit.observed_loads)).max() < 6 * PAD
        assert fit.probability_good > 0.9


def test_stated_uncertainty_is_that_of_the_spread_of_likely_cars() -> None:
    # Monte Carlo over the posterior with the public response (JCGM 101:2008 in spirit).
    stated, log = log_of(4, count=5)
    learnt, turns = calibrate(stated, observed(log)), Corners(1.0, -1.0, -1.0, 1.0)
    rng, cross = np.random.default_rng(4), np.array([0.0, 1.0, 1.0, 0.0])
    logs = rng.multivariate_normal(np.log(learnt.multipliers), learnt.covariance, 2000)
    cars = [response(multiplied(stated, Multipliers(*np.exp(one)))) for one in logs]
    crosses = [cross @ car.loads_per_turn @ np.array(turns) / sum(LOADS) for car in cars]
    told = learnt.cross_change(turns, LOADS)
    assert np.std(crosses) == pytest.approx(told.u, rel=0.08)
    # A curved model moves the mean a little; first order leaves that out.
    assert np.mean(crosses) == pytest.approx(told.change, abs=0.3 * told.u)
    loads = [car.loads_per_turn @ np.array(turns) for car in cars]
    assert np.std(loads, axis=0) == pytest.approx(learnt.change(turns).u_loads, rel=0.08)
    heights = [car.heights_per_turn @ np.array(turns) for car in cars]
    assert np.std(heights, axis=0) == pytest.approx(learnt.change(turns).u_heights, rel=0.08)


def test_cross_change_is_the_difference_of_shares() -> None:
    stated, log = log_of(5)
    learnt, turns = calibrate(stated, observed(log)), Corners(0.0, 1.5, 0.0, 0.0)
    after = Corners.of(np.add(LOADS, learnt.change(turns).loads))
    told = learnt.cross_change(turns, LOADS)
    assert told.change == pytest.approx(shares(after).cross - shares(LOADS).cross, rel=1e-9)
    assert told.low < told.change < told.high
    assert told.high - told.low == pytest.approx(2 * 1.96 * told.u, rel=1e-4)


def test_the_next_reading_is_less_certain_than_the_truth() -> None:
    stated, log = log_of(6)
    learnt, turns = calibrate(stated, observed(log)), Corners(1.0, 0.0, 0.0, 0.0)
    without = learnt.cross_change(turns, LOADS)
    assert (without.reading_low, without.reading_high) == (without.low, without.high)
    told = learnt.cross_change(turns, LOADS, NOISE)
    assert told.reading_low < told.low < told.high < told.reading_high
    # Two weighings, each with the uncertainty of shares.
    scales = math.sqrt(2.0) * shares(LOADS, PAD).u_cross
    assert told.u_reading == pytest.approx(math.hypot(told.u, scales), rel=1e-9)


def test_scales_alone_cannot_tell_a_thread_from_a_rate() -> None:
    stated, log = log_of(7, count=20)
    both = calibrate(stated, observed(log))
    alone = calibrate(
        stated,
        [
            Observation(
                seen.turns,
                NOISE,
                loads_before=Corners.of(seen.loads_before),
                loads_after=Corners.of(seen.loads_after),
            )
            for seen in log
        ],
    )
    assert alone.u_log.thread > both.u_log.thread
    assert all(fit.observed_heights is None for fit in alone.fits)
    turns = Corners(1.0, -1.0, -1.0, 1.0)
    assert (
        alone.cross_change(turns, LOADS).u
        < 0.2 * calibrate(stated, []).cross_change(turns, LOADS).u
    )


def test_a_tape_alone_says_little_of_cross() -> None:
    stated, log = log_of(8)
    taped = [
        Observation(
            seen.turns,
            NOISE,
            heights_before=Corners.of(seen.heights_before),
            heights_after=Corners.of(seen.heights_after),
        )
        for seen in log
    ]
    learnt, turns = calibrate(stated, taped), Corners(1.0, -1.0, -1.0, 1.0)
    assert all(fit.observed_loads is None for fit in learnt.fits)
    stated_u = calibrate(stated, []).cross_change(turns, LOADS).u
    assert 0.3 * stated_u < learnt.cross_change(turns, LOADS).u < stated_u


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


@settings(max_examples=25, deadline=None)
@given(st.permutations(range(8)), st.integers(0, 1000))
def test_the_order_of_the_log_does_not_matter(order: list[int], seed: int) -> None:
    stated, log = log_of(seed, count=8)
    seen = observed(log)
    here, there = calibrate(stated, seen), calibrate(stated, [seen[place] for place in order])
    assert there.multipliers == pytest.approx(here.multipliers, rel=1e-5)
    assert there.covariance == pytest.approx(here.covariance, rel=1e-3, abs=1e-8)
    for place, fit in zip(order, there.fits, strict=True):
        assert fit.probability_good == pytest.approx(here.fits[place].probability_good, abs=1e-4)


def test_each_observation_narrows_what_is_not_known() -> None:
    stated, log = log_of(13, count=12)
    seen = observed(log)
    sizes = [np.linalg.slogdet(calibrate(stated, seen[:n]).covariance)[1] for n in range(0, 13, 3)]
    assert all(later < earlier for earlier, later in pairwise(sizes))


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


@settings(max_examples=60, deadline=None)
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
def test_an_observation_that_cannot_be_is_named(turns, changed, named: str) -> None:
    with pytest.raises(BadInput) as refused:
        Observation(turns, NOISE, **{**GOOD, **changed})
    assert refused.value.quantity == named


@pytest.mark.parametrize(
    ("changed", "named"),
    [
        ({"pad": 0.0}, "pad"),
        ({"tape": -0.4}, "tape"),
        ({"level": -1.0}, "level"),
        ({"total": math.nan}, "total"),
        ({"shift": math.inf}, "shift"),
    ],
)
def test_readings_are_never_exact_and_never_nonsense(changed, named: str) -> None:
    with pytest.raises(BadInput) as refused:
        Noise(**{"pad": PAD, "tape": TAPE, **changed})
    assert refused.value.quantity == named


@pytest.mark.parametrize("name", ["front", "rear", "tyre", "thread", "bad"])
@pytest.mark.parametrize("value", [0.0, -0.1, 5.0, math.nan])
def test_a_prior_that_pins_or_frees_everything_is_named(name: str, value: float) -> None:
    with pytest.raises(BadInput) as refused:
        Prior(**{name: value})
    assert refused.value.quantity == f"prior {name}"


def test_turns_and_loads_asked_about_are_checked() -> None:
    learnt = calibrate(even_car(), [])
    with pytest.raises(BadInput) as refused:
        learnt.change(Corners(0.0, 0.0, math.inf, 0.0))
    assert refused.value.quantity == "turns LR"
    with pytest.raises(BadInput):
        learnt.cross_change(TURNS, Corners.same(0.0))
    with pytest.raises(BadInput):
        learnt.cross_change(Corners.same(math.nan), LOADS)
