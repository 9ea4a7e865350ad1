"""How long 'did it help' takes over a season: 60 days of 8 runs of 15 laps.

Budget: well under 100 ms of processor, laps marked and read beforehand.

uv run pytest tests/benchmarks/bench_helped.py --benchmark-only
"""

import numpy as np
import pytest
from pytest_benchmark.fixture import BenchmarkFixture

from cars.mechanics.helped import TimedRun, did_it_help
from cars.mechanics.laps import RunLaps
from tests.benchmarks import sizes

DAYS = sizes.of(60, 3)


@pytest.fixture(scope="module")
def season() -> list[TimedRun]:
    """Every second run after the change, which begins a day in turn."""
    rng = np.random.default_rng(1)
    runs = []
    for day in range(DAYS):
        level = rng.normal(7.5, 0.2)
        for order in range(8):
            middle = level + rng.normal(0.0, 0.06) - 0.05 * ((order + day) % 2)
            laps = RunLaps.proposed((middle + rng.normal(0.0, 0.12, 15)).tolist(), 0.12)
            runs.append(TimedRun(day, order, laps))
    return runs


def of(season: list[TimedRun], *, after: bool) -> list[TimedRun]:
    """The runs before the change, or those after it."""
    return [run for run in season if ((run.order + run.day) % 2 == 1) is after]


def split(season: list[TimedRun], case: str) -> list[list[TimedRun]]:
    """Before, after and the record."""
    before, after = of(season, after=False), of(season, after=True)
    if case == "the whole season":
        return [before, after, []]
    if case == "days apart":
        half = DAYS // 2
        return [[r for r in before if r.day < half], [r for r in after if r.day >= half], []]
    last = DAYS - 1
    return [[r for r in before if r.day == last], [r for r in after if r.day == last], season]


@pytest.mark.parametrize("case", ["the whole season", "days apart", "an evening and its record"])
def test_did_it_help(benchmark: BenchmarkFixture, season: list[TimedRun], case: str) -> None:
    before, after, record = split(season, case)
    said = benchmark(did_it_help, before, after, record)
    assert said.low_s < said.high_s


def test_marking_and_reading_the_laps(benchmark: BenchmarkFixture) -> None:
    laps = (7.5 + np.random.default_rng(1).normal(0.0, 0.12, 15)).tolist()
    assert len(benchmark(RunLaps.proposed, laps).seconds) == 15
