"""Whether a measured value meets a limit, when no measurement is exact.

Two ways to decide, after JCGM 106:2012 and ILAC-G8:09/2019, and the club chooses one for each
version of a class's rules:

READING   The reading decides, as most rulebooks have it: on or inside the limit meets, outside
          fails. Nobody is left without an answer in the queue, but close to the limit up to half
          of the answers may be wrong (ILAC-G8, 4.2), so the margin, the uncertainty and the
          chance that the car truly meets the limit stand beside it. The official may then weigh
          again before deciding; the record says how close it was.
GUARDED   Between the limit and a guard band w = k u on either side the answer is 'too close to
          call': weigh again, on better scales, or let the official appointed for it decide. What
          meets then meets with at least 97.7 % (k = 2), and what fails fails as surely, where u
          is well known. An u that a few weighings' scatter gave is not: the band stays 2 u, as
          the club has it, and the chance beside it, by Student's t, says what that is worth.

Clause numbers are from memory unless a test says otherwise.
"""

import math
from dataclasses import dataclass
from enum import StrEnum
from typing import Literal

from clubsetup.quantities.uncertainty import Estimate, probability_below

# Two readings of the same typed figure, added up in another order, differ by rounding only.
SAME = 1e-9

# The guard band in standard uncertainties: w = U, the expanded uncertainty with k = 2.
GUARD = 2.0


class Outcome(StrEnum):
    """What a rule says of a car on the evidence there is."""

    MEETS = "meets"
    FAILS = "fails"
    TOO_CLOSE = "too_close"
    NOT_CHECKED = "not_checked"


class DecisionRule(StrEnum):
    """How a value near a limit is decided."""

    READING = "reading"
    GUARDED = "guarded"


class LimitError(ValueError):
    """Limits that nothing can meet, or none at all; `limit` names which."""

    def __init__(self, limit: str, problem: str) -> None:
        super().__init__(f"{limit}: {problem}")
        self.limit = limit
        self.problem = problem


@dataclass(frozen=True, slots=True)
class Limits:
    """A lower limit, an upper limit, or both; a value on a limit meets it.

    Raises LimitError without any limit, for one that is not finite, or with the lower above the
    upper.
    """

    lower: float | None = None
    upper: float | None = None

    def __post_init__(self) -> None:
        if self.lower is None and self.upper is None:
            raise LimitError("limits", "at least one is needed")
        for name, limit in (("lower limit", self.lower), ("upper limit", self.upper)):
            if limit is not None and not math.isfinite(limit):
                raise LimitError(name, f"must be a finite number, not {limit!r}")
        if self.lower is not None and self.upper is not None and self.lower > self.upper:
            raise LimitError("lower limit", f"{self.lower:g} is above the upper, {self.upper:g}")


@dataclass(frozen=True, slots=True)
class Decision:
    """The outcome for one value, with all that the official needs to stand by it.

    `limit` is the one nearest to being missed and `side` says which; `margin` is plus inside it
    and minus outside; `guard` is the width of the guard band, 0 when the reading decides;
    `probability` that the true value meets every limit. All but it in the unit of the value.
    """

    outcome: Outcome
    value: float
    u: float
    limit: float
    side: Literal["lower", "upper"]
    margin: float
    guard: float
    probability: float


def probability_of_meeting(estimate: Estimate, limits: Limits) -> float:
    """How likely the true value lies within the limits, given what was read.

    Phi((TU - y)/u) - Phi((TL - y)/u), a limit that is not set counting as infinitely far
    (JCGM 106:2012, 7.4 and 8.3); Student t when the estimate's degrees of freedom are finite.
    Assumes nothing else is known of the value. An exact value (u = 0) gives 0 or 1; on a limit 1,
    since on a limit it meets.
    """
    if estimate.u == 0:
        return 1.0 if _margin(estimate.value, limits)[0] >= 0 else 0.0
    below = 1.0 if limits.upper is None else probability_below(limits.upper, estimate)
    too_low = 0.0 if limits.lower is None else probability_below(limits.lower, estimate)
    return max(0.0, below - too_low)


def decide(
    estimate: Estimate, limits: Limits, rule: DecisionRule = DecisionRule.READING, k: float = GUARD
) -> Decision:
    """Decide whether a value meets its limits, by the reading or with a guard band.

    With READING the outcome is meets or fails by the value alone. With GUARDED and w = k u it is
    meets at a margin of w or more, fails when outside by more than w, and too close in between
    (ILAC-G8:09/2019, 4.2; JCGM 106:2012, 8.3.2). A two-sided limit narrower than 2 w is
    never met under GUARDED: the tool is too coarse for the rule. A margin that is nothing but
    rounding counts as none. Raises LimitError for a k that is negative or not finite.
    """
    if not (math.isfinite(k) and k >= 0):
        raise LimitError("coverage factor", f"must be zero or more, not {k!r}")
    margin, limit, side = _margin(estimate.value, limits)
    guard = k * estimate.u if rule is DecisionRule.GUARDED else 0.0
    return Decision(
        outcome=_outcome(margin, guard, _slack(limit)),
        value=estimate.value,
        u=estimate.u,
        limit=limit,
        side=side,
        margin=margin,
        guard=guard,
        probability=probability_of_meeting(estimate, limits),
    )


def worst(outcomes: list[Outcome]) -> Outcome:
    """The outcome of several things that must all be met; nothing to check is met.

    One that fails decides; then one too close to call; then one not checked.
    """
    order = (Outcome.FAILS, Outcome.TOO_CLOSE, Outcome.NOT_CHECKED, Outcome.MEETS)
    return min(outcomes, key=order.index, default=Outcome.MEETS)


def _outcome(margin: float, guard: float, slack: float) -> Outcome:
    if margin >= guard - slack:
        return Outcome.MEETS
    return Outcome.FAILS if margin < -guard - slack else Outcome.TOO_CLOSE


def _margin(value: float, limits: Limits) -> tuple[float, float, Literal["lower", "upper"]]:
    """The least margin to a limit, that limit and its side."""
    found: list[tuple[float, float, Literal["lower", "upper"]]] = []
    if limits.lower is not None:
        found.append((_clean(value - limits.lower, limits.lower), limits.lower, "lower"))
    if limits.upper is not None:
        found.append((_clean(limits.upper - value, limits.upper), limits.upper, "upper"))
    return min(found)


def _clean(margin: float, limit: float) -> float:
    return 0.0 if abs(margin) <= _slack(limit) else margin


def _slack(limit: float) -> float:
    return SAME * max(1.0, abs(limit))
