"""Lap times of one run about its middle, and what a handler makes of them."""

import math
import random
from collections.abc import Mapping, Sequence

from events.demo.truth import TrueDriver, Truth

PRESS = 0.15  # s, of a stopwatch
CAUTIONS = 0.35  # of the races


def laps_about(
    middle: float, count: int, driver: TrueDriver, truth: Truth, rng: random.Random
) -> list[float]:
    """Racing laps, each like the one before, the first slow and now and then another."""
    scatter = rng.gauss(0.0, driver.lap_scatter)
    seconds = []
    for _ in range(count):
        seconds.append(middle + scatter)
        own = rng.gauss(0.0, driver.lap_scatter)
        scatter = driver.lag_1 * scatter + math.sqrt(1.0 - driver.lag_1**2) * own
    seconds[0] += rng.uniform(*truth.ends("first_lap"))
    for lap in range(1, count):
        if rng.random() < driver.slow_share:
            seconds[lap] += rng.uniform(*truth.ends("slow_lap"))
    return seconds


def with_caution(seconds: Sequence[float], truth: Truth, rng: random.Random) -> list[float]:
    """Two slow laps behind one another in some of the races."""
    laps = list(seconds)
    if rng.random() < CAUTIONS:
        start = rng.randrange(2, len(laps) - 2)
        for lap in (start, start + 1):
            laps[lap] += rng.uniform(*truth.ends("caution_lap"))
    return laps


def by_stopwatch(seconds: Sequence[float], rng: random.Random) -> list[float]:
    """As one person presses: a press ends a lap and begins the next."""
    off = [rng.uniform(-PRESS, PRESS) for _ in range(len(seconds) + 1)]
    return [lap + off[n + 1] - off[n] for n, lap in enumerate(seconds)]


def at_a_glance(seconds: Sequence[float]) -> float | None:
    """What somebody at the fence makes of a run."""
    return sorted(seconds)[len(seconds) // 3] if seconds else None


def seems_faster(tried: Mapping[str, Sequence[float | None]]) -> str:
    """The group of runs that seemed faster; A, as it was before, where none did."""
    means = {}
    for group, runs in tried.items():
        timed = [run for run in runs if run is not None]
        means[group] = sum(timed) / len(timed) if timed else math.inf
    return "B" if means["B"] < means["A"] - 0.01 else "A"
