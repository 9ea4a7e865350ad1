"""How long a turn plan takes, beside the same problem given to general solvers.

The general ones answer for all four adjusters only; the plan also for 1, 2 and 3. Both
must find the same turns. Budget: 5 ms, and a twentieth of what the general solvers take.

uv run pytest tests/benchmarks/bench_turns.py --benchmark-only
"""

import numpy as np
import pytest
from pytest_benchmark.fixture import BenchmarkFixture
from scipy.optimize import Bounds, LinearConstraint, milp

from cars.mechanics import Corners, Response, response
from cars.mechanics.goals import Goal
from cars.mechanics.turnplan import TurnPlan, TurnTarget
from cars.mechanics.turns import plan_turns
from tests.benchmarks import sizes
from tests.mechanics.car_cases import random_chassis, warp_car

LOADS = Corners(37.0, 36.0, 40.0, 41.0)
HEIGHTS = Corners(50.0, 51.0, 55.0, 56.0)
CARS = sizes.of(100, 3)
STEPS = np.arange(-24, 25) * 0.25  # quarter turns, six either way

CASES = {
    "all five goals": TurnTarget(
        Goal(0.52, 0.0025), tuple(Goal(v, 1.5875) for v in (53.0, 49.0, 57.0, 55.0))
    ),
    "far away": TurnTarget(
        Goal(0.56, 0.0025), tuple(Goal(v, 1.5875) for v in (63.0, 61.0, 65.0, 66.0))
    ),
    "cross alone": TurnTarget(Goal(0.51, 0.0025)),
    "heights alone": TurnTarget(None, tuple(Goal(v, 1.5875) for v in (53.0, 49.0, 57.0, 55.0))),
}


def enumerate_all(car: Response, target: TurnTarget) -> tuple[float, np.ndarray]:
    """All 49^4 grids of turns, a slice of the last corner at a time."""
    rows, start = misses(car, target)
    reach = [np.multiply.outer(rows[:, corner], STEPS) for corner in range(4)]
    partial = (
        start[:, None, None, None]
        + reach[0][:, :, None, None]
        + reach[1][:, None, :, None]
        + reach[2][:, None, None, :]
    )
    best: float = np.inf
    turns: np.ndarray = np.zeros(4)
    for last, add in enumerate(reach[3].T):
        cost = ((partial + add[:, None, None, None]) ** 2).sum(axis=0)
        place = int(cost.argmin())
        if cost.flat[place] < best:
            best = float(cost.flat[place])
            turns = STEPS[np.array([*np.unravel_index(place, cost.shape), last])]
    return best, turns


def misses(car: Response, target: TurnTarget) -> tuple[np.ndarray, np.ndarray]:
    rows, start = [], []
    if target.cross is not None:
        per_turn = (car.loads_per_turn[1] + car.loads_per_turn[2]) / sum(LOADS)
        rows.append(per_turn / target.cross.tolerance)
        start.append(target.cross.miss((LOADS.rf + LOADS.lr) / sum(LOADS)))
    for place, goal in enumerate(target.heights):
        if goal is not None:
            rows.append(car.heights_per_turn[place] / goal.tolerance)
            start.append(goal.miss(HEIGHTS[place]))
    return np.array(rows), np.array(start)


@pytest.mark.parametrize("case", CASES)
def test_plan_turns(benchmark: BenchmarkFixture, case: str) -> None:
    plans = benchmark(plan_turns, LOADS, HEIGHTS, response(warp_car(1.5)), CASES[case])
    assert len(plans) == 4


def test_plan_turns_over_many_cars(benchmark: BenchmarkFixture) -> None:
    """A hundred random cars and goals, so that one lucky case does not stand for all."""
    rng = np.random.default_rng(4)
    work = [(response(random_chassis(rng)), some_target(rng)) for _ in range(CARS)]

    def all_of_them() -> list[list[TurnPlan]]:
        return [plan_turns(LOADS, HEIGHTS, car, target) for car, target in work]

    plans = benchmark.pedantic(all_of_them, rounds=sizes.of(5), warmup_rounds=sizes.of(1, 0))
    benchmark.extra_info["per plan"] = f"divide by {CARS}"
    assert len(plans) == CARS


def some_target(rng: np.random.Generator) -> TurnTarget:
    heights = tuple(Goal(h + rng.uniform(-6.0, 6.0), 1.5875) for h in HEIGHTS)
    return TurnTarget(Goal(rng.uniform(0.47, 0.56), 0.0025), heights)


def outer_approximation(car: Response, target: TurnTarget) -> np.ndarray:
    """The same by a mixed-integer program: squares from below by tangents, more until exact.

    Source: Duran and Grossmann, Mathematical Programming 36 (1986) 307, from memory.
    """
    rows, start = misses(car, target)
    count, slope = len(start), rows * 0.25
    tangents = [(i, at) for i in range(count) for at in (-8.0, -2.0, 0.0, 2.0, 8.0)]
    while True:
        cuts = np.zeros((len(tangents), 4 + count))
        limits = np.zeros(len(tangents))
        for cut, (i, at) in enumerate(tangents):  # e_i >= 2 at miss_i - at^2
            cuts[cut, :4], cuts[cut, 4 + i] = 2 * at * slope[i], -1.0
            limits[cut] = at * at - 2 * at * start[i]
        found = milp(
            np.concatenate([np.zeros(4), np.ones(count)]),
            constraints=LinearConstraint(cuts, -np.inf, limits),
            integrality=np.concatenate([np.ones(4), np.zeros(count)]),
            bounds=Bounds([-24] * 4 + [0] * count, [24] * 4 + [np.inf] * count),
            options={"mip_rel_gap": 0.0},
        )
        assert found.x is not None
        assert found.fun is not None
        steps = np.rint(found.x[:4])
        rest = slope @ steps + start
        if rest @ rest <= found.fun + 1e-6:
            return steps * 0.25
        tangents += list(enumerate(rest.tolist()))


@pytest.mark.parametrize("case", CASES)
def test_general_enumeration(benchmark: BenchmarkFixture, case: str) -> None:
    """All 5.8 million points, in numpy arrays that stay in the cache."""
    car = response(warp_car(1.5))
    best, turns = benchmark.pedantic(enumerate_all, args=(car, CASES[case]), rounds=sizes.of(7))
    plan = plan_turns(LOADS, HEIGHTS, car, CASES[case])[-1]
    assert plan.miss == pytest.approx(best, abs=3e-6)
    if case in ("all five goals", "far away"):
        assert plan.turns == tuple(turns)


@pytest.mark.parametrize("case", ["all five goals", "far away"])
def test_general_mixed_integer(benchmark: BenchmarkFixture, case: str) -> None:
    """HiGHS, through scipy.optimize.milp."""
    car = response(warp_car(1.5))
    turns = benchmark.pedantic(outer_approximation, args=(car, CASES[case]), rounds=sizes.of(2))
    assert plan_turns(LOADS, HEIGHTS, car, CASES[case])[-1].turns == tuple(turns)
