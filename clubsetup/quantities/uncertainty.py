"""Standard uncertainty: from repeats, from what is known of a tool, and through a calculation.

The names follow JCGM 100:2008 (the GUM): a type A evaluation comes from repeats, a type B
evaluation from anything else, such as the smallest step a tape shows. Values and uncertainties
share whatever unit the caller uses; nothing here converts. Clause numbers are from memory.
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
import scipy


class UncertaintyError(ValueError):
    """An input from which no uncertainty can be stated; `quantity` names it."""

    def __init__(self, quantity: str, problem: str) -> None:
        super().__init__(f"{quantity}: {problem}")
        self.quantity = quantity
        self.problem = problem


@dataclass(frozen=True, slots=True)
class Estimate:
    """A value, its standard uncertainty and the degrees of freedom behind that uncertainty.

    Raises UncertaintyError for a value that is not finite, a negative or infinite `u`, or
    degrees of freedom that are not positive.
    """

    value: float
    u: float = 0.0
    dof: float = math.inf

    def __post_init__(self) -> None:
        _finite("value", self.value)
        _not_negative("standard uncertainty", self.u)
        _positive_dof(self.dof)


class Contribution(NamedTuple):
    """One input of a calculation: its sensitivity coefficient, uncertainty and dof."""

    sensitivity: float
    u: float
    dof: float = math.inf


def type_a(repeats: Sequence[float]) -> Estimate:
    """The mean of repeated readings and the uncertainty of that mean.

    u = s / sqrt(n), s^2 = sum (x - mean)^2 / (n - 1), n - 1 degrees of freedom
    (JCGM 100:2008, 4.2). Assumes independent repeats. Raises UncertaintyError for fewer than two.
    """
    mean, s = _mean_and_deviation("repeats", repeats)
    return Estimate(mean, s / math.sqrt(len(repeats)), len(repeats) - 1)


def rectangular(half_width: float) -> float:
    """u = a / sqrt 3: anywhere within +-a is as likely (JCGM 100:2008, 4.3.7)."""
    return _not_negative("half width", half_width) / math.sqrt(3.0)


def normal(expanded_uncertainty: float, k: float = 2.0) -> float:
    """u = U / k: an expanded uncertainty as a certificate states it (JCGM 100:2008, 4.3.3)."""
    if not (math.isfinite(k) and k > 0):
        raise UncertaintyError("coverage factor", f"must be positive, not {k!r}")
    return _not_negative("expanded uncertainty", expanded_uncertainty) / k


def from_step(step: float) -> float:
    """u = step / sqrt 12: a tool that shows whole steps only (JCGM 100:2008, F.2.2.1)."""
    return rectangular(_not_negative("step", step) / 2.0)


def combine(value: float, contributions: Iterable[Contribution]) -> Estimate:
    """The combined uncertainty of a calculated value from independent inputs.

    u_c^2 = sum (c_i u_i)^2 (JCGM 100:2008, 5.1.2) with the effective degrees of freedom of
    Welch and Satterthwaite, nu_eff = u_c^4 / sum ((c_i u_i)^4 / nu_i) (G.4.1). First order in
    the inputs. Raises UncertaintyError for a coefficient, uncertainty or dof that makes no sense.
    """
    parts: list[tuple[float, float]] = []
    for sensitivity, u, dof in contributions:
        c = _finite("sensitivity coefficient", sensitivity)
        parts.append((abs(c) * _not_negative("standard uncertainty", u), _positive_dof(dof)))
    combined = math.hypot(*(part for part, _ in parts))
    if combined == 0:
        return Estimate(value, 0.0)
    # Relative to the whole, so that the fourth powers of very small numbers do not vanish.
    spent = sum((part / combined) ** 4 / dof for part, dof in parts)
    return Estimate(value, combined, math.inf if spent == 0 else 1.0 / spent)


def propagate(sensitivities: Sequence[float], covariance: Sequence[Sequence[float]]) -> float:
    """The combined uncertainty when the inputs are correlated.

    u_c^2 = c' V c (JCGM 100:2008, 5.2.2), V the covariance matrix of the inputs. Raises
    UncertaintyError when V is not square of that size, not symmetric, or gives a negative variance.
    """
    c = np.asarray(sensitivities, dtype=float)
    v = np.asarray(covariance, dtype=float)
    if v.shape != (c.size, c.size):
        raise UncertaintyError("covariance", f"{v.shape} does not fit {c.size} sensitivities")
    if not (np.isfinite(c).all() and np.isfinite(v).all()):
        raise UncertaintyError("covariance", "every entry must be a finite number")
    if not np.allclose(v, v.T):
        raise UncertaintyError("covariance", "must be symmetric")
    variance = float(c @ v @ c)
    # A perfectly common error cancels to rounding noise, which may fall just below zero.
    if variance < -1e-12 * float(np.abs(c) @ np.abs(v) @ np.abs(c)):
        raise UncertaintyError("covariance", "gives a negative variance")
    return math.sqrt(max(variance, 0.0))


def coverage_factor(dof: float = math.inf, p: float = 0.95) -> float:
    """k so that value +- k u covers a share `p` of what the value may be.

    Two-sided Student t with `dof` degrees of freedom, normal when infinite (JCGM 100:2008, G.3
    and table G.2). A dof that is not whole is rounded down, as G.4.1 allows; below one it counts
    as one. Raises UncertaintyError for p outside (0, 1).
    """
    if not 0.0 < p < 1.0:
        raise UncertaintyError("coverage probability", f"must lie between 0 and 1, not {p!r}")
    whole = dof if math.isinf(_positive_dof(dof)) else max(1.0, math.floor(dof))
    upper = 0.5 + p / 2.0
    return float(
        scipy.special.ndtri(upper) if math.isinf(whole) else scipy.special.stdtrit(whole, upper)
    )


def expanded(estimate: Estimate, p: float = 0.95) -> float:
    """U = k u with k from `coverage_factor` (JCGM 100:2008, 6.2.1 and G.4.1)."""
    return coverage_factor(estimate.dof, p) * estimate.u


def probability_below(limit: float, estimate: Estimate) -> float:
    """How likely the true value lies below `limit`, given the estimate.

    Phi((limit - y) / u) (JCGM 106:2012, 7.2); Student t in place of Phi when the degrees of
    freedom are finite (JCGM 101:2008, 6.4.9). With u = 0 it is 0 or 1, and 1/2 on the limit.
    """
    gap = _finite("limit", limit) - estimate.value
    if gap == 0:
        return 0.5
    if estimate.u == 0:
        return 1.0 if gap > 0 else 0.0
    t = gap / estimate.u
    return float(
        scipy.special.ndtr(t) if math.isinf(estimate.dof) else scipy.special.stdtr(estimate.dof, t)
    )


def quantile(p: float, dof: float = math.inf) -> float:
    """How many standard uncertainties above the value a share `p` of what it may be ends.

    Phi^-1(p), Student t when the degrees of freedom are finite (JCGM 101:2008, 6.4.9). Raises
    UncertaintyError for p outside (0, 1).
    """
    if not 0.0 < p < 1.0:
        raise UncertaintyError("probability", f"must lie between 0 and 1, not {p!r}")
    whole = math.isinf(_positive_dof(dof))
    return float(scipy.special.ndtri(p) if whole else scipy.special.stdtrit(dof, p))


def _mean_and_deviation(quantity: str, values: Sequence[float]) -> tuple[float, float]:
    if len(values) < 2:
        raise UncertaintyError(quantity, "at least two are needed to see any scatter")
    for value in values:
        _finite(quantity, value)
    mean = math.fsum(values) / len(values)
    squares = math.fsum((value - mean) ** 2 for value in values)
    return mean, math.sqrt(squares / (len(values) - 1))


def _finite(quantity: str, value: float) -> float:
    if not math.isfinite(value):
        raise UncertaintyError(quantity, f"must be a finite number, not {value!r}")
    return float(value)


def _not_negative(quantity: str, value: float) -> float:
    if not math.isfinite(value) or value < 0:
        raise UncertaintyError(quantity, f"must be zero or more, not {value!r}")
    return float(value)


def _positive_dof(dof: float) -> float:
    if math.isnan(dof) or dof <= 0:
        raise UncertaintyError("degrees of freedom", f"must be positive, not {dof!r}")
    return float(dof)
