"""How long the response and a calibration take.

Run by path: `uv run pytest tests/benchmarks/bench_response.py`.

The response is asked for on every page that predicts anything, so it has a budget of
100 microseconds. It is timed beside the same answer by the general way: a central
difference of the energy, a general solver, and a frame program.
"""

import numpy as np
import pytest
from pytest_benchmark.fixture import BenchmarkFixture
from scipy.optimize import minimize

from cars.mechanics import Chassis, Corners, Response, calibrate, response
from tests.benchmarks import sizes
from tests.mechanics.car_cases import random_chassis
from tests.mechanics.frame_program import NAMES, FrameProgram
from tests.mechanics.simulated_cars import read, some_turns

BUDGET = 100e-6  # s
CAR = random_chassis(np.random.default_rng(1))


def by_energy(car: Chassis) -> np.ndarray:
    """Load changes in N for one turn at LF, by least energy from a general minimiser."""
    (xs, ys), rate = np.array(car.springs).T, np.array(car.spring_rate)
    ratio, tyre = np.array(car.motion_ratio), np.array(car.tyre_rate)
    front, rear = car.track_front, car.track_rear
    seat = np.array([car.thread.lf, 0.0, 0.0, 0.0])

    def wheels(q: np.ndarray) -> np.ndarray:
        sides = 0.5 * np.array([front, -front, rear, -rear])
        return np.repeat(q[[3, 5]], 2) + np.repeat(q[[4, 6]], 2) * sides / 500.0

    def energy(q: np.ndarray) -> float:
        axle = np.repeat(q[[3, 5]], 2) + np.repeat(q[[4, 6]], 2) * ys / 500.0
        frame = q[0] + q[1] * ys / 500.0 - q[2] * xs / 500.0
        squeeze = ratio * (axle - frame) + seat
        return 0.5 * float(rate @ squeeze**2 + tyre @ wheels(q) ** 2)

    found = minimize(energy, np.zeros(7), tol=1e-12)
    newtons: np.ndarray = -tyre * wheels(found.x)
    return newtons


def test_response(benchmark: BenchmarkFixture) -> None:
    ours = benchmark(response, CAR)
    assert isinstance(ours, Response)
    assert benchmark.stats is not None
    assert sizes.tiny or benchmark.stats.stats.median < BUDGET


def test_chassis_with_all_its_checks(benchmark: BenchmarkFixture) -> None:
    fields = {name: getattr(CAR, name) for name in CAR.__dataclass_fields__}
    assert benchmark(lambda: Chassis(**fields)) == CAR


def test_the_same_by_least_energy(benchmark: BenchmarkFixture) -> None:
    newtons = benchmark(by_energy, CAR)
    assert newtons / 9.80665 == pytest.approx(response(CAR).loads_per_turn[:, 0], abs=1e-3)


def test_the_same_by_a_frame_program(benchmark: BenchmarkFixture) -> None:
    def solved() -> FrameProgram:
        frame = FrameProgram(CAR)
        frame.solve()
        return frame

    frame = benchmark.pedantic(solved, rounds=sizes.of(3), iterations=1)
    loads = np.column_stack([frame.loads(f"turn {name}") for name in NAMES])
    assert loads == pytest.approx(response(CAR).loads_per_turn, abs=5e-5)


def test_calibrate_from_twenty_changes(benchmark: BenchmarkFixture) -> None:
    rng, ours = np.random.default_rng(2), response(CAR)
    both = np.concatenate((ours.loads_per_turn, ours.heights_per_turn))
    turns: list[Corners] = [some_turns(rng) for _ in range(20)]
    log = [read(rng, each, both @ np.array(each)).observation() for each in turns]
    learnt = benchmark(calibrate, CAR, log)
    assert len(learnt.fits) == 20
