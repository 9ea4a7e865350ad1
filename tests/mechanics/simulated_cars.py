"""Hidden true cars with noisy scales and a tape, to prove calibration on.

The truth multiplies the stated rates by what the prior allows; pads read with a normal
error of 0.2 lb, the tape to the nearest 1/16 in, so within 1/32 in either way. Cars,
changes and faults are drawn at random; nothing of the fit is used to make them.
"""

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import islice

import numpy as np

from cars.mechanics import Corners, Multipliers, Noise, Observation, Prior, calibrate, response
from cars.mechanics.sensitivity import multiplied
from tests.mechanics.car_cases import random_chassis

POUND = 0.45359237  # kg, exact
PAD = 0.2 * POUND
HALF_STEP = 25.4 / 32.0  # mm
TAPE = HALF_STEP / 3**0.5  # JCGM 100:2008, 4.3.7, rectangular
NOISE = Noise(pad=PAD, tape=TAPE)
LOADS = Corners(38.0, 36.0, 42.0, 40.0)
HEIGHTS = Corners(60.0, 60.0, 70.0, 70.0)
FAULTS = ("sticking pad", "mistyped load", "mistyped height", "other side", "sign", "bent")
AFTER = (5, 10, 20)


def some_turns(rng: np.random.Generator) -> Corners:
    """One to four seats by up to two turns, in quarters, at least one of them turned."""
    while True:
        turns = np.zeros(4)
        seats = rng.choice(4, rng.integers(1, 5), replace=False)
        turns[seats] = rng.integers(-8, 9, len(seats)) / 4
        if turns.any():
            return Corners.of(turns)


@dataclass
class Readings:
    """The eight figures before and after one change, and the turns as logged."""

    turns: Corners
    loads_before: np.ndarray
    loads_after: np.ndarray
    heights_before: np.ndarray
    heights_after: np.ndarray

    def observation(self, noise: Noise = NOISE) -> Observation:
        return Observation(
            self.turns,
            noise,
            loads_before=Corners.of(self.loads_before),
            loads_after=Corners.of(self.loads_after),
            heights_before=Corners.of(self.heights_before),
            heights_after=Corners.of(self.heights_after),
        )


def read(rng: np.random.Generator, turns: Corners, change: np.ndarray) -> Readings:
    """What scales and tape show of a true change of four loads and four heights."""
    return Readings(
        turns,
        np.array(LOADS) + rng.normal(0.0, PAD, 4),
        np.array(LOADS) + change[:4] + rng.normal(0.0, PAD, 4),
        np.array(HEIGHTS) + rng.uniform(-HALF_STEP, HALF_STEP, 4),
        np.array(HEIGHTS) + change[4:] + rng.uniform(-HALF_STEP, HALF_STEP, 4),
    )


def spoil(rng: np.random.Generator, fault: str, change: np.ndarray, seen: Readings) -> Readings:
    """The same readings with one thing gone wrong."""
    place = int(rng.integers(4))
    if fault == "sticking pad":
        place = int(np.argmax(np.abs(change[:4])))
        seen.loads_after[place] = seen.loads_before[place] + rng.normal(0.0, 0.25 * PAD)
    elif fault == "mistyped load":
        seen.loads_after[place] += rng.choice([-10, -5, -1, 1, 5, 10]) * POUND
    elif fault == "mistyped height":
        seen.heights_after[place] += rng.choice([-1, 1]) * rng.choice([0.25, 0.5, 1.0]) * 25.4
    elif fault == "other side":
        seen.turns = Corners(seen.turns.rf, seen.turns.lf, seen.turns.rr, seen.turns.lr)
    elif fault == "sign":
        seen.turns = seen.turns.each(lambda turns: -turns)
    else:
        seen = read(rng, seen.turns, change * rng.choice([0.3, 2.0]))
    return seen


@dataclass
class Outcome:
    """What came of many cars: errors of the predicted cross change, and flags."""

    calibrated: list[float] = field(default_factory=list)
    stated: list[float] = field(default_factory=list)
    u: list[float] = field(default_factory=list)
    flags: dict[str, list[bool]] = field(default_factory=lambda: defaultdict(list))

    def coverage(self) -> float:
        """Share of the predictions whose true change is inside the stated 95 % interval."""
        inside = np.abs(self.calibrated) <= 1.959963984540054 * np.array(self.u)
        return float(np.mean(inside))

    def nearer(self) -> float:
        """Share of the predictions that are better than with the stated rates."""
        return float(np.mean(np.abs(self.calibrated) < np.abs(self.stated)))

    def gain(self) -> float:
        """Root mean square error as a fraction of that of the stated rates."""
        return float(np.sqrt(np.mean(np.square(self.calibrated)) / np.mean(np.square(self.stated))))

    def flagged(self, *faults: str) -> float:
        """Share of observations with these faults that were flagged."""
        return float(np.mean([flag for fault in faults for flag in self.flags[fault]]))


def draw_faults(rng: np.random.Generator, faulty: bool) -> Iterator[str]:
    """A fault for one change in every ten, at a random place among them."""
    while True:
        wrong = int(rng.integers(10)) if faulty else -1
        for place in range(10):
            yield str(rng.choice(FAULTS)) if place == wrong else "none"


def simulate(seed: int, cars: int, *, faulty: bool) -> dict[int, Outcome]:
    """Outcomes after 5, 10 and 20 logged changes of each of many cars.

    Each car gets three predictions, for turns drawn anew, of cross with LOADS aboard.
    """
    rng, prior = np.random.default_rng(seed), Prior()
    outcomes = {count: Outcome() for count in AFTER}
    weights = (np.array([0.0, 1.0, 1.0, 0.0]) - (LOADS.rf + LOADS.lr) / sum(LOADS)) / sum(LOADS)
    for _ in range(cars):
        stated = random_chassis(rng)
        off = np.exp(rng.normal(size=4) * np.sqrt(prior.variances))
        true = response(multiplied(stated, Multipliers(*off)))
        both = np.concatenate((true.loads_per_turn, true.heights_per_turn))
        log, faults = [], list(islice(draw_faults(rng, faulty), max(AFTER)))
        for fault in faults:
            turns = some_turns(rng)
            change = both @ np.array(turns)
            seen = read(rng, turns, change)
            log.append((seen if fault == "none" else spoil(rng, fault, change, seen)).observation())
        plain = response(stated)
        for count, outcome in outcomes.items():
            learnt = calibrate(stated, log[:count])
            for turns in (some_turns(rng) for _ in range(3)):
                truth = weights @ true.loads_per_turn @ np.array(turns)
                told = learnt.cross_change(turns, LOADS)
                outcome.calibrated.append(told.change - truth)
                outcome.stated.append(weights @ plain.loads_per_turn @ np.array(turns) - truth)
                outcome.u.append(told.u)
            for fault, fit in zip(faults, learnt.fits, strict=False):
                outcome.flags[fault].append(fit.flagged)
    return outcomes
