"""Learn this car: correct the rates on its page from what the scales said after each change."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import partial
from typing import Literal

import numpy as np

from cars.mechanics.chassis import Chassis, Matrix, response
from cars.mechanics.corners import Corners, checked
from cars.mechanics.errors import within
from cars.mechanics.fitting import gather, solve
from cars.mechanics.loads import checked_loads
from cars.mechanics.observations import (
    KINDS,
    Noise,
    Observation,
    checked_turn,
    difference_covariance,
)
from cars.mechanics.sensitivity import Multipliers, TurnModel, multiplied

COVERAGE_95 = 1.959963984540054  # 97.5 % point of the normal distribution

Share = Literal["cross", "left", "rear"]
# The corners that a share counts, LF RF LR RR.
COUNTED: dict[Share, tuple[float, float, float, float]] = {
    "cross": (0.0, 1.0, 1.0, 0.0),
    "left": (1.0, 0.0, 1.0, 0.0),
    "rear": (0.0, 0.0, 1.0, 1.0),
}


@dataclass(frozen=True, slots=True)
class Prior:
    """How far rates usually are from those stated: standard deviations of the logs.

    0.1 is about 10 %. ``bad`` is the share of observations expected to be wrong.
    The defaults are our judgement, common practice, no source.
    """

    front: float = 0.10
    rear: float = 0.10
    tyre: float = 0.15
    thread: float = 0.05
    bad: float = 0.10

    def __post_init__(self) -> None:
        """Refuse a prior that pins a rate exactly or leaves it anywhere."""
        for name in ("front", "rear", "tyre", "thread"):
            within(f"prior {name}", getattr(self, name), 1e-4, 2.0)
        within("prior bad", self.bad, 1e-6, 0.5)

    @property
    def variances(self) -> Matrix:
        """Variances of the four log-multipliers."""
        return np.array([self.front, self.rear, self.tyre, self.thread]) ** 2


@dataclass(frozen=True, slots=True)
class Fit:
    """One observation against the calibrated car: loads in kg, heights in mm, changes.

    ``probability_good`` is that of its being like the others; ``suspect`` is what is
    most likely wrong with it if something is, one of KINDS.
    """

    predicted_loads: Corners
    observed_loads: Corners | None
    predicted_heights: Corners
    observed_heights: Corners | None
    probability_good: float
    suspect: str

    @property
    def flagged(self) -> bool:
        """Whether it is more likely bad than good."""
        return self.probability_good < 0.5


@dataclass(frozen=True, slots=True)
class CrossPrediction:
    """Change of cross, a fraction, with two standard uncertainties.

    ``u`` is that of the *true* change, and ``low`` to ``high`` its 95 % interval: it holds
    what is not known of this car's rates. ``u_reading`` is that of the difference of the next
    two *readings*: it holds the scales' own uncertainty as well.
    """

    change: float
    u: float
    u_reading: float

    @property
    def low(self) -> float:
        """Lower end for the true change."""
        return self.change - COVERAGE_95 * self.u

    @property
    def high(self) -> float:
        """Upper end for the true change."""
        return self.change + COVERAGE_95 * self.u


@dataclass(frozen=True, slots=True)
class ChangePrediction:
    """True change of the four loads (kg) and heights (mm), with standard uncertainties."""

    loads: Corners
    heights: Corners
    u_loads: Corners
    u_heights: Corners


@dataclass(frozen=True, slots=True, eq=False)
class Calibrated:
    """A chassis as its own readings say it is.

    ``chassis`` is the stated one with the ``multipliers`` applied; ``covariance`` is
    that of their logs, in the order of Multipliers. ``fits`` has one entry for each
    observation, in the order given.
    """

    chassis: Chassis
    multipliers: Multipliers
    covariance: Matrix
    fits: tuple[Fit, ...]
    _value: Matrix
    _slope: Matrix

    @property
    def u_log(self) -> Multipliers:
        """Standard uncertainties of the log-multipliers; 0.05 is about 5 %."""
        return Multipliers(*np.sqrt(np.diag(self.covariance)).tolist())

    def change(self, turns: Corners) -> ChangePrediction:
        """What ``turns`` will truly do to loads and heights; J C J' for the uncertainty.

        Raises BadInput for turns that are not a number or beyond all thread.
        """
        turned = np.array(checked("turns", turns, checked_turn))
        slopes = self._slope @ turned
        variances = np.einsum("ai,ab,bi->i", slopes, self.covariance, slopes)
        u = np.sqrt(np.maximum(variances, 0.0)).tolist()
        expected = (self._value @ turned).tolist()
        return ChangePrediction(
            loads=Corners.of(expected[:4]),
            heights=Corners.of(expected[4:]),
            u_loads=Corners.of(u[:4]),
            u_heights=Corners.of(u[4:]),
        )

    def cross_change(
        self, turns: Corners, loads: Corners, noise: Noise | None = None
    ) -> CrossPrediction:
        """What ``turns`` will do to cross, with ``loads`` (kg) on the scales now.

        ``noise`` is that of the two weighings, for the uncertainty of the next reading; without
        it both are the same. See `share_change`.
        """
        return self.share_change("cross", turns, loads, noise)

    def share_change(
        self, share: Share, turns: Corners, loads: Corners, noise: Noise | None = None
    ) -> CrossPrediction:
        """What ``turns`` will do to a share of the weight, with ``loads`` (kg) on the scales now.

        d(share) = sum_i (a_i - share) dW_i / T, a = 1 for the corners counted; u^2 = j'Cj with j
        the slope in the log-multipliers. Raises BadInput for impossible loads or turns.
        """
        loads = checked_loads(loads)
        turned = np.array(checked("turns", turns, checked_turn))
        total, counted = sum(loads), np.array(COUNTED[share])
        weights = (counted - float(counted @ np.array(loads)) / total) / total
        slope = weights @ (self._slope[:, :4] @ turned).T
        variance = max(0.0, float(slope @ self.covariance @ slope))
        scales = 0.0
        if noise is not None:
            spread = difference_covariance(response(self.chassis), noise)[:4, :4]
            scales = float(weights @ spread @ weights)
        return CrossPrediction(
            change=float(weights @ self._value[:4] @ turned),
            u=variance**0.5,
            u_reading=(variance + scales) ** 0.5,
        )


def calibrate(
    chassis: Chassis, observations: Sequence[Observation], prior: Prior | None = None
) -> Calibrated:
    """This car's rates and threads from what changes really did.

    Four log-multipliers theta (front and rear spring rate, tyre rate, thread), normal
    about 0 with the ``prior``'s deviations; for each observation with turns n::

        after - before = M(theta) n + e      loads in kg above heights in mm, 8 rows

    M is the linear model of ``response``; e has the covariance of
    ``difference_covariance``, or comes from a wrong reading, wrong turns or a changed
    car with the small probability ``prior.bad``: one bad observation then loses its
    weight by itself and is flagged. The posterior is taken as normal about its mode
    (Laplace), which the simulations in the tests bear out.

    Assumes observations independent of each other, readings as uncertain as said, and
    rates wrong by the same factor on both sides of an axle. Without observations the
    answer is the prior. Source: the model is our own; methods named in ``fitting``.
    Raises OutOfReach where the observations ask for a rate more than five prior deviations
    from the stated one (the chassis page, the units or the turns are wrong), Singular
    where no fit settles and as ``response`` does.
    """
    prior = prior or Prior()
    model = TurnModel(chassis)
    solution = solve(model, gather(chassis, observations, prior.bad), prior.variances)
    value, slope = model.at(solution.theta)
    multipliers = Multipliers(*np.exp(solution.theta).tolist())
    return Calibrated(
        chassis=multiplied(chassis, multipliers),
        multipliers=multipliers,
        covariance=solution.covariance,
        fits=tuple(map(partial(_as_fit, value), observations, solution.chances)),
        _value=value,
        _slope=slope,
    )


def _as_fit(value: Matrix, one: Observation, chance: Matrix) -> Fit:
    predicted = value @ np.array(one.turns)
    loads, heights = one.has
    return Fit(
        predicted_loads=Corners.of(predicted[:4].tolist()),
        observed_loads=Corners.of(one.seen[:4].tolist()) if loads else None,
        predicted_heights=Corners.of(predicted[4:].tolist()),
        observed_heights=Corners.of(one.seen[4:].tolist()) if heights else None,
        probability_good=float(chance[0]),
        suspect=KINDS[1 + int(np.argmax(chance[1:]))],
    )
