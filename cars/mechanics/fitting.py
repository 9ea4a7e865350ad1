"""The arithmetic under ``calibrate``: a robust fit of four log-multipliers.

Each observation is a mixture of Gaussians (see ``observations.components``): good,
or bad in one of ten ways. Expectation-maximisation with Gauss-Newton steps finds the
likeliest log-multipliers; the chance of each way comes out beside them.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from cars.mechanics.chassis import Chassis, Matrix, response
from cars.mechanics.errors import OutOfReach, Singular
from cars.mechanics.observations import KINDS, Components, Noise, Observation, components
from cars.mechanics.sensitivity import MULTIPLIERS, TurnModel

MOST_STEPS = 200
SMALL_STEP = 1e-6  # of a log-multiplier: far below anything a scale can see
LONGEST_STEP = 0.5  # no rate changes by more than this factor of e at once
FAR = 5.0  # prior deviations; farther than that it is not the car on the page
FARTHEST = 30.0  # on the way there


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


@dataclass(frozen=True, slots=True, eq=False)
class _State:
    """How the log looks from some log-multipliers theta (4,)."""

    theta: Matrix
    misses: Matrix  # (n, 8)
    slopes: Matrix  # (n, 8, 4)
    chances: Matrix  # (n, 11)
    likelihood: float  # log, of the observations and of theta under the prior


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
    A step that would make the whole less likely is halved. Raises OutOfReach where the
    readings ask for rates far from those stated, Singular where the fit does not settle.
    Source: Dempster, Laird and Rubin, J. R. Stat. Soc. B 39 (1977) 1, from memory.
    """
    inverse_prior = np.diag(1.0 / variances)
    state = _look(model, log, np.zeros(4), inverse_prior)
    first = _first_chances(log, state, variances)
    move = _move(log, state, first, inverse_prior)
    state = _look(model, log, move, inverse_prior)
    for _ in range(MOST_STEPS):
        move = _move(log, state, state.chances, inverse_prior)
        state, settled = _ahead(model, log, state, move, inverse_prior)
        _refuse_far(state.theta, variances, FARTHEST)
        if settled:
            _refuse_far(state.theta, variances, FAR)
            covariance = _covariance(log, state, variances)
            return Solution(state.theta, covariance, state.chances)
    raise Singular("observations", "the fit does not settle; look for readings that contradict")


def _refuse_far(theta: Matrix, variances: Matrix, most: float) -> None:
    far = np.abs(theta) / np.sqrt(variances)
    if far.max() > most:
        place = int(np.argmax(far))
        raise OutOfReach(
            "observations",
            f"they ask for {MULTIPLIERS[place]} at {np.exp(theta[place]):.3g} times what is "
            "stated; check the chassis page, the units and the turns",
        )


def _ahead(
    model: TurnModel, log: Log, state: _State, move: Matrix, inverse_prior: Matrix
) -> tuple[_State, bool]:
    """The next state, never a less likely one, and whether the fit has settled."""
    while np.abs(move).max() >= SMALL_STEP:
        trial = _look(model, log, state.theta + move, inverse_prior)
        if trial.likelihood >= state.likelihood:
            return trial, False
        move = 0.5 * move
    return state, True


def _look(model: TurnModel, log: Log, theta: Matrix, inverse_prior: Matrix) -> _State:
    value, slope = model.at(theta)
    misses = log.seen - log.turns @ value.T
    chances, likelihood = _chances(log.precisions, log.logs, misses)
    return _State(
        theta=theta,
        misses=misses,
        slopes=np.matmul(slope, log.turns.T).transpose(2, 1, 0),
        chances=chances,
        likelihood=likelihood - 0.5 * float(theta @ inverse_prior @ theta),
    )


def _weights(log: Log, chances: Matrix) -> Matrix:
    flat = log.precisions.reshape(len(chances), len(KINDS), 64)
    weights: Matrix = np.matmul(chances[:, None, :], flat)
    return weights.reshape(-1, 8, 8)


def _move(log: Log, state: _State, chances: Matrix, inverse_prior: Matrix) -> Matrix:
    pulled = np.matmul(_weights(log, chances), state.slopes)
    curvature = inverse_prior + np.tensordot(state.slopes, pulled, axes=([0, 1], [0, 1]))
    pull = np.tensordot(pulled, state.misses, axes=([0, 1], [0, 1])) - inverse_prior @ state.theta
    return np.clip(np.linalg.solve(curvature, pull), -LONGEST_STEP, LONGEST_STEP)


def _chances(precisions: Matrix, logs: Matrix, misses: Matrix) -> tuple[Matrix, float]:
    """The chance of each way of each observation, and the log-likelihood of them all."""
    scores = logs - 0.5 * np.einsum("ni,ncij,nj->nc", misses, precisions, misses)
    best = scores.max(axis=1, keepdims=True)
    chances: Matrix = np.exp(scores - best)
    sums = chances.sum(axis=1, keepdims=True)
    return chances / sums, float((best + np.log(sums)).sum())


def _first_chances(log: Log, state: _State, variances: Matrix) -> Matrix:
    """Chances under the stated rates, with the prior's spread added to every way."""
    spread = np.matmul(state.slopes * variances, state.slopes.transpose(0, 2, 1))
    wide = log.covariances + spread[:, None]
    half = 0.5 * (np.linalg.slogdet(wide)[1] - np.linalg.slogdet(log.covariances)[1])
    return _chances(np.linalg.inv(wide), log.logs - half, state.misses)[0]


def _covariance(log: Log, state: _State, variances: Matrix) -> Matrix:
    """Inverse of the information really there and the prior's: (I + P^-1)^-1.

    What the fit would know if it were told which observations are good, less what it
    does not know of that: sum_c g_c v_c v_c' - v v', v_c = Lambda_c r, v their mean.
    Source: Louis, J. R. Stat. Soc. B 44 (1982) 226, from memory. Doubt can never make
    the information negative, so what falls below nothing is nothing.

    With S = P^(1/2) and S I S = V diag(i) V' it is S V diag(1/(1 + i)) V' S: no answer is surer
    than the prior by rounding alone. An i up to rows eps i_max is rounding of the sum over all
    rows (that sum squares the condition of the slopes), and counts as nothing.
    """
    chances = state.chances
    pulls = np.einsum("ncij,nj->nci", log.precisions, state.misses)
    mean = np.einsum("nc,nci->ni", chances, pulls)
    doubt = np.einsum("nc,nci,ncj->nij", chances, pulls, pulls)
    doubt -= np.einsum("ni,nj->nij", mean, mean)
    information = _weights(log, chances) - doubt
    scale = np.sqrt(variances)
    slopes = state.slopes * scale
    size, axes = np.linalg.eigh(np.einsum("nia,nij,njb->ab", slopes, information, slopes))
    rows = max(state.misses.size, len(scale))
    least = rows * np.finfo(float).eps * size[-1]
    clipped = np.where(size > max(least, 0.0), size, 0.0)
    half = scale[:, None] * axes / np.sqrt(1.0 + clipped)
    return np.asarray(half @ half.T, dtype=np.float64)
