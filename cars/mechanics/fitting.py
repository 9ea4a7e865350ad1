"""The arithmetic under ``calibrate``: a robust fit of four log-multipliers.

Each observation is a mixture of Gaussians (see ``observations.components``): good,
or bad in one of ten ways. Expectation-maximisation with Gauss-Newton steps finds the
likeliest log-multipliers; the chance of each way comes out beside them.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from cars.mechanics.chassis import Chassis, Matrix, response
from cars.mechanics.observations import KINDS, Components, Noise, Observation, components
from cars.mechanics.sensitivity import TurnModel

MOST_STEPS = 60
SMALL_STEP = 1e-6  # of a log-multiplier: far below anything a scale can see
LONGEST_STEP = 0.5  # no rate changes by more than this factor of e at once


@dataclass(frozen=True, slots=True, eq=False)
class Log:
    """n observations as arrays, with the Gaussians each may come from."""

    turns: Matrix  # (n, 4)
    seen: Matrix  # (n, 8) kg and mm
    precisions: Matrix  # (n, 11, 8, 8)
    covariances: Matrix  # (n, 11, 8, 8)
    logs: Matrix  # (n, 11)


@dataclass(frozen=True, slots=True, eq=False)
class Solution:
    """The likeliest log-multipliers and what each observation looks like from there."""

    theta: Matrix  # (4,)
    covariance: Matrix  # (4, 4)
    chances: Matrix  # (n, 11), rows sum to 1
    steps: int


@dataclass(frozen=True, slots=True, eq=False)
class _State:
    """Misses (n, 8) and slopes (n, 8, 4) at some log-multipliers."""

    misses: Matrix
    slopes: Matrix


def gather(chassis: Chassis, observations: Sequence[Observation], bad: float) -> Log:
    """The observations as arrays; weighings with the same noise share their Gaussians."""
    car = response(chassis)
    known: dict[tuple[Noise, tuple[bool, bool]], Components] = {}
    parts = []
    for one in observations:
        key = (one.noise, one.has)
        if key not in known:
            known[key] = components(car, one.noise, one.has, bad)
        parts.append(known[key])
    ways, size = len(KINDS), (len(parts), len(KINDS), 8, 8)
    return Log(
        turns=np.array([one.turns for one in observations]).reshape(-1, 4),
        seen=np.array([one.seen for one in observations]).reshape(-1, 8),
        precisions=np.array([part.precisions for part in parts]).reshape(size),
        covariances=np.array([part.covariances for part in parts]).reshape(size),
        logs=np.array([part.logs for part in parts]).reshape(-1, ways),
    )


def solve(model: TurnModel, log: Log, variances: Matrix) -> Solution:
    """The posterior mode of the log-multipliers, its covariance, and the chances.

    With d_n the differences seen, M(theta) the 8x4 response per turn, J_n its slope
    times the turns, Lambda_c the precision of way c and g_nc its chance::

        r_n = d_n - M(theta) turns_n
        g_nc ~ pi_c |Lambda_c|^(1/2) exp(-r_n' Lambda_c r_n / 2)
        W_n  = sum_c g_nc Lambda_c
        (P^-1 + sum J_n' W_n J_n) step = sum J_n' W_n r_n - P^-1 theta

    The first chances count what the prior leaves open, so that a car unlike its page
    does not make its own good readings look wrong.
    Source: Dempster, Laird and Rubin, J. R. Stat. Soc. B 39 (1977) 1, from memory.
    """
    theta, inverse_prior = np.zeros(4), np.diag(1.0 / variances)
    state = _look(model, log, theta)
    chances = _first_chances(log, state, variances)
    steps = 0
    for steps in range(1, MOST_STEPS + 1):  # noqa: B007 - reported, so that tests see it end
        move = _move(log, state, chances, theta, inverse_prior)
        theta = theta + np.clip(move, -LONGEST_STEP, LONGEST_STEP)
        state = _look(model, log, theta)
        chances = _chances(log.precisions, log.logs, state.misses)
        if np.abs(move).max() < SMALL_STEP:
            break
    return Solution(theta, _covariance(log, state, chances, inverse_prior), chances, steps)


def _look(model: TurnModel, log: Log, theta: Matrix) -> _State:
    value, slope = model.at(theta)
    slopes = np.matmul(slope, log.turns.T).transpose(2, 1, 0)
    return _State(log.seen - log.turns @ value.T, slopes)


def _weights(log: Log, chances: Matrix) -> Matrix:
    flat = log.precisions.reshape(len(chances), len(KINDS), 64)
    weights: Matrix = np.matmul(chances[:, None, :], flat)
    return weights.reshape(-1, 8, 8)


def _move(log: Log, state: _State, chances: Matrix, theta: Matrix, inverse_prior: Matrix) -> Matrix:
    pulled = np.matmul(_weights(log, chances), state.slopes)
    curvature = inverse_prior + np.tensordot(state.slopes, pulled, axes=([0, 1], [0, 1]))
    pull = np.tensordot(pulled, state.misses, axes=([0, 1], [0, 1])) - inverse_prior @ theta
    return np.asarray(np.linalg.solve(curvature, pull), dtype=np.float64)


def _chances(precisions: Matrix, logs: Matrix, misses: Matrix) -> Matrix:
    scores = logs - 0.5 * np.einsum("ni,ncij,nj->nc", misses, precisions, misses)
    scores -= scores.max(axis=1, keepdims=True)
    chances: Matrix = np.exp(scores)
    chances /= chances.sum(axis=1, keepdims=True)
    return chances


def _first_chances(log: Log, state: _State, variances: Matrix) -> Matrix:
    """Chances under the stated rates, with the prior's spread added to every way."""
    spread = np.matmul(state.slopes * variances, state.slopes.transpose(0, 2, 1))
    wide = log.covariances + spread[:, None]
    half = 0.5 * (np.linalg.slogdet(wide)[1] - np.linalg.slogdet(log.covariances)[1])
    return _chances(np.linalg.inv(wide), log.logs - half, state.misses)


def _covariance(log: Log, state: _State, chances: Matrix, inverse_prior: Matrix) -> Matrix:
    """Inverse of the information really there.

    What the fit would know if it were told which observations are good, less what it
    does not know of that: sum_c g_c v_c v_c' - v v', v_c = Lambda_c r, v their mean.
    Source: Louis, J. R. Stat. Soc. B 44 (1982) 226, from memory. Doubt can never make
    the information negative, so what falls below nothing is nothing.
    """
    pulls = np.einsum("ncij,nj->nci", log.precisions, state.misses)
    mean = np.einsum("nc,nci->ni", chances, pulls)
    doubt = np.einsum("nc,nci,ncj->nij", chances, pulls, pulls)
    doubt -= np.einsum("ni,nj->nij", mean, mean)
    told = _weights(log, chances) - doubt
    information = np.einsum("nia,nij,njb->ab", state.slopes, told, state.slopes)
    size, axes = np.linalg.eigh(information)
    kept = (axes * np.maximum(size, 0.0)) @ axes.T
    return np.asarray(np.linalg.inv(inverse_prior + kept), dtype=np.float64)
