"""How long a ballast plan takes: 12 pieces, 8 mounts; the budget is 200 ms.

uv run pytest tests/benchmarks/bench_ballast.py --benchmark-only

There are 9^12 placings, so there is nothing general to time it beside; the tests try
every placing of smaller tasks instead. Both plans are timed, where there are two.
"""

import numpy as np
import pytest
from pytest_benchmark.fixture import BenchmarkFixture

from cars.mechanics import Corners, shares
from cars.mechanics.ballast import plan_ballast
from cars.mechanics.ballastplan import BallastPlan, Mount, Piece, ShareTargets
from cars.mechanics.goals import Goal
from tests.benchmarks import sizes
from tests.mechanics.car_cases import warp_car

CAR = warp_car()
LOADS = Corners(37.0, 36.0, 40.0, 41.0)
PRESENT = shares(LOADS)
TARGETS = {
    "kept": None,
    "shifted": ShareTargets(
        Goal(PRESENT.left + 0.004, 0.005),
        Goal(PRESENT.rear - 0.006, 0.005),
        Goal(PRESENT.cross, 0.0025),
    ),
    "out of reach": ShareTargets(
        Goal(PRESENT.left + 0.02, 0.005),
        Goal(PRESENT.rear + 0.01, 0.005),
        Goal(PRESENT.cross + 0.01, 0.0025),
    ),
}
MARKED_TO = {"pound": 1.0 * 0.45359237, "half pound": 0.5 * 0.45359237, "gram": 0.001}


def task(marked_to: float, seed: int) -> tuple[list[Piece], list[Mount], float]:
    """Twelve pieces, four of them fitted where there is room, eight mounts, half of it needed."""
    rng = np.random.default_rng(seed)
    mounts = [
        Mount(f"M{n}", rng.uniform(-100, 1200), rng.uniform(-350, 350), rng.uniform(2.0, 8.0))
        for n in range(8)
    ]
    pieces = []
    for n in range(12):
        mass = float(np.rint(rng.uniform(0.6, 3.0) / marked_to)) * marked_to
        home = mounts[n] if n < 4 and mounts[n].capacity >= mass else None
        pieces.append(Piece(f"P{n}", mass, 0.005, home.name if home else None))
    fitted = sum(piece.mass for piece in pieces if piece.fitted)
    every = sum(piece.mass for piece in pieces)
    return pieces, mounts, sum(LOADS) - fitted + every * rng.uniform(0.4, 0.6)


def plan(pieces: list[Piece], mounts: list[Mount], need: float, case: str) -> list[BallastPlan]:
    return plan_ballast(
        LOADS,
        CAR,
        pieces,
        mounts,
        minimum=need - 0.5,
        margin=0.5,
        fuel_now=0.9,
        fuel_at_weighing=0.2,
        targets=TARGETS[case],
        tank=(450.0, 60.0),
        u=0.05,
        u_fuel=0.05,
    )


@pytest.mark.parametrize("marked_to", MARKED_TO)
@pytest.mark.parametrize("case", TARGETS)
def test_twelve_pieces_and_eight_mounts(
    benchmark: BenchmarkFixture, case: str, marked_to: str
) -> None:
    """Ten tasks, one after the other in turn: min, median and max are those of single plans."""
    tasks = [task(MARKED_TO[marked_to], seed) for seed in range(10)]
    turn = iter(tasks * 3)
    found = benchmark.pedantic(
        plan, setup=lambda: ((*next(turn), case), {}), rounds=sizes.of(30), iterations=1
    )
    assert found[0].proven
