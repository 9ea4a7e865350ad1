"""What calibration says of one car: its rates, its doubts, its predictions."""

import math
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cars.mechanics import (
    Corners,
    Multipliers,
    Noise,
    Observation,
    Prior,
    calibrate,
    response,
    shares,
)
from cars.mechanics.calibration import CrossPrediction, Fit, Share
from cars.mechanics.sensitivity import TurnModel, multiplied
from tests.examples import examples
from tests.mechanics.car_cases import even_car
from tests.mechanics.logged_cars import TRUTH, by_least_squares, log_of, observed, turning
from tests.mechanics.simulated_cars import LOADS, NOISE, PAD


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
        assert fit.observed_loads is not None
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


@pytest.mark.parametrize("share", ["cross", "left", "rear"])
def test_each_share_changes_by_the_difference_of_shares(share: Share) -> None:
    stated, log = log_of(5, count=3)
    learnt, turns = calibrate(stated, observed(log)), Corners(0.5, 1.5, -1.0, 0.0)
    after = Corners.of(np.add(LOADS, learnt.change(turns).loads))
    told = learnt.share_change(share, turns, LOADS, NOISE)
    change = getattr(shares(after), share) - getattr(shares(LOADS), share)
    assert told.change == pytest.approx(change, rel=1e-9)
    scales = math.sqrt(2.0) * getattr(shares(LOADS, PAD), f"u_{share}")
    assert told.u_reading == pytest.approx(math.hypot(told.u, scales), rel=1e-9)


def test_the_interval_holds_95_percent() -> None:
    """k = 1.96 for 95 % of a normal distribution (JCGM 100:2008, table G.1)."""
    told = CrossPrediction(change=0.01, u=0.002, u_reading=0.003)
    k = 1.959963984540054
    wanted = (0.01 - 0.002 * k, 0.01 + 0.002 * k)
    assert (told.low, told.high) == pytest.approx(wanted, rel=1e-12)


@pytest.mark.parametrize(("good", "flagged"), [(0.4999, True), (0.5, False), (0.9, False)])
def test_what_is_more_likely_bad_than_good_is_flagged(good: float, flagged: bool) -> None:
    still = Corners.same(0.0)
    assert Fit(still, None, still, None, good, "turns").flagged is flagged


def test_the_next_reading_is_less_certain_than_the_truth() -> None:
    stated, log = log_of(6)
    learnt, turns = calibrate(stated, observed(log)), Corners(1.0, 0.0, 0.0, 0.0)
    without = learnt.cross_change(turns, LOADS)
    assert without.u_reading == without.u
    told = learnt.cross_change(turns, LOADS, NOISE)
    assert told.u_reading > told.u
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


@settings(max_examples=examples(25), deadline=None)
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


@pytest.mark.parametrize("count", [1, 100, 2000])
@pytest.mark.parametrize("turned", [1.0, 20.0])
def test_one_turn_weighed_for_ever_tells_one_thing_only(count: int, turned: float) -> None:
    """Loads of one turn follow one pattern, so that they measure one sum j'theta and no more.

    With that sum known exactly the prior P keeps P - P j j'P / (j'P j) (conditioning of a normal
    distribution, textbook). The finest pads and 2,000 weighings ask most of the arithmetic: a sum
    of squares rounds to more than the prior has, and must not count as having been seen.
    """
    stated, _ = log_of(3, count=1)
    turns = Corners(turned, -turned, 0.0, 0.0)
    loads = Corners(380.0, 360.0, 420.0, 400.0)
    after = Corners.of(np.array(loads) + turning(stated)[:4] @ np.array(turns))
    one = Observation(turns, Noise(1e-4, 1e-3), loads_before=loads, loads_after=after)
    learnt = calibrate(stated, [one] * count, Prior(2.0, 2.0, 2.0, 2.0))
    _, slope = TurnModel(stated).at(np.zeros(4))
    seen = (slope @ np.array(turns))[:, 0]
    left_open = 2.0 * np.sqrt(1.0 - seen**2 / (seen @ seen))
    assert np.array(learnt.u_log) == pytest.approx(left_open, rel=1e-4)
    assert np.linalg.eigvalsh(learnt.covariance).min() > 0.0
