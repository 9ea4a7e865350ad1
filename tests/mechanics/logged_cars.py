"""One car with a log of changes, and the plain fit to set a calibration against."""

import math

import numpy as np
from scipy.optimize import least_squares

from cars.mechanics import (
    Chassis,
    Multipliers,
    Observation,
    Prior,
    response,
)
from cars.mechanics.sensitivity import multiplied
from tests.mechanics.car_cases import random_chassis
from tests.mechanics.simulated_cars import PAD, TAPE, Readings, read, some_turns

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
    jacobian = np.asarray(found.jac)
    return found.x, np.linalg.inv(jacobian.T @ jacobian)
