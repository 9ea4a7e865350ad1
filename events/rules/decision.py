"""Whether a measured value meets a limit, when no measurement is exact.

Two ways to decide, after JCGM 106:2012 and ILAC-G8:09/2019, and the club chooses one for each
version of a class's rules:

READING   The reading decides, as most rulebooks have it: on or inside the limit meets, outside
          fails. Nobody is left without an answer in the queue, but close to the limit up to half
          of the answers may be wrong (ILAC-G8, 4.2), so the margin, the uncertainty and the
          chance that the car truly meets the limit stand beside it. The official may then weigh
          again before deciding; the record says how close it was.
GUARDED   The chance that the car truly meets every limit (the conformance probability of
          JCGM 106:2012, 7) decides and nothing else: it meets from 97.7 %, fails up to 2.3 %, and
          between the two it is 'too close to call': weigh again, on better scales, or let the
          official appointed for it decide. So a larger chance never gets the worse verdict.
          Where u is well known and there is one limit, this is the guard band w = U = 2 u of
          ILAC-G8, 4.2, as near as a tenth of a percent tells it: Phi(2) = 97.725 %, and 97.7 %
          is reached at 1.995 u. Where repeats gave u the band is as much wider as Student's t
          has it; between two limits the chance of missing either counts.

The thresholds are whole tenths of a percent, 0.977 and 0.023, because a chance is shown in tenths
and rounded towards one half (`speech.chance`): 97.7 % is shown from 0.977 on and not before, and
2.3 % down from 0.023, so that what is shown never contradicts the verdict.

Clause numbers are from memory unless a test says otherwise.
"""

import math
from dataclasses import dataclass
from enum import StrEnum
from typing import Literal

import scipy

from clubsetup.quantities.uncertainty import Estimate, probability_below, quantile

# Two readings of the same typed figure, added up in another order, differ by rounding only.
SAME = 1e-9

# A chance that is enough to say that a car meets its limits; one minus it, that it fails.
SURE = 0.977


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
class RuleLimits:
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
    and minus outside; `guard` is the margin, on the side where the value lies, from which it would
    be sure: 0 when the reading decides, infinite between limits too near each other for the tool;
    `probability` that the true value meets every limit. All in the unit of the value but `dof`,
    the degrees of freedom behind `u`, and `probability`.
    """

    outcome: Outcome
    value: float
    u: float
    dof: float
    limit: float
    side: Literal["lower", "upper"]
    margin: float
    guard: float
    probability: float


def probability_of_meeting(estimate: Estimate, limits: RuleLimits) -> float:
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
    estimate: Estimate,
    limits: RuleLimits,
    rule: DecisionRule = DecisionRule.READING,
    sure: float = SURE,
) -> Decision:
    """Decide whether a value meets its limits, by the reading or by the chance.

    With READING the outcome is meets or fails by the value alone; a margin that is nothing but
    rounding counts as none. With GUARDED it is meets where the probability of meeting every limit
    is `sure` or more, fails where it is 1 - `sure` or less, too close in between
    (JCGM 106:2012, 7 and 8; ILAC-G8:09/2019, 4.2). Two limits nearer to each other than the tool
    can tell are never met under GUARDED. Raises LimitError for a `sure` outside [0.5, 1).
    """
    if not 0.5 <= sure < 1.0:
        raise LimitError("sure", f"must be at least one half and under one, not {sure!r}")
    margin, limit, side = _margin(estimate.value, limits)
    chance = probability_of_meeting(estimate, limits)
    guarded = rule is DecisionRule.GUARDED
    return Decision(
        outcome=_by_chance(chance, sure) if guarded else _by_reading(margin),
        value=estimate.value,
        u=estimate.u,
        dof=estimate.dof,
        limit=limit,
        side=side,
        margin=margin,
        guard=_guard(estimate, limits, margin, sure) if guarded else 0.0,
        probability=chance,
    )


def worst(outcomes: list[Outcome]) -> Outcome:
    """The outcome of several things that must all be met; nothing to check is met.

    One that fails decides; then one too close to call; then one not checked.
    """
    order = (Outcome.FAILS, Outcome.TOO_CLOSE, Outcome.NOT_CHECKED, Outcome.MEETS)
    return min(outcomes, key=order.index, default=Outcome.MEETS)


def _by_reading(margin: float) -> Outcome:
    return Outcome.MEETS if margin >= 0 else Outcome.FAILS


def _by_chance(chance: float, sure: float) -> Outcome:
    if chance >= sure:
        return Outcome.MEETS
    # As a decimal one minus 0.977 is 0.023; as a binary fraction it is a little less.
    return Outcome.FAILS if chance <= round(1.0 - sure, 15) else Outcome.TOO_CLOSE


def _guard(estimate: Estimate, limits: RuleLimits, margin: float, sure: float) -> float:
    """The margin inside from which the chance is `sure`, or outside from which it is 1 - `sure`.

    For one limit w = t(sure) u on either side. Between two limits W apart it solves
    F(w/u) + F((W - w)/u) - 1 = sure, outside them F((W + w)/u) - F(w/u) = 1 - sure.
    """
    if estimate.u == 0:
        return 0.0
    alone = quantile(sure, estimate.dof) * estimate.u
    if limits.lower is None or limits.upper is None:
        return alone
    width, about = limits.upper - limits.lower, Estimate(0.0, estimate.u, estimate.dof)

    def short(gap: float) -> float:
        """How far the chance lies from the one asked for."""
        if margin < 0:
            within = probability_below(width + gap, about) - probability_below(gap, about)
            return within - (1.0 - sure)
        within = probability_below(gap, about) + probability_below(width - gap, about) - 1.0
        return within - sure

    solve = scipy.optimize.brentq
    if margin < 0:
        return 0.0 if short(0.0) <= 0 else float(solve(short, 0.0, alone + estimate.u))
    return math.inf if short(width / 2.0) < 0 else float(solve(short, 0.0, width / 2.0))


def _margin(value: float, limits: RuleLimits) -> tuple[float, float, Literal["lower", "upper"]]:
    """The least margin to a limit, that limit and its side."""
    margins: list[tuple[float, float, Literal["lower", "upper"]]] = []
    if limits.lower is not None:
        margins.append((_clean(value - limits.lower, limits.lower), limits.lower, "lower"))
    if limits.upper is not None:
        margins.append((_clean(limits.upper - value, limits.upper), limits.upper, "upper"))
    return min(margins)


def _clean(margin: float, limit: float) -> float:
    return 0.0 if abs(margin) <= _slack(limit) else margin


def _slack(limit: float) -> float:
    return SAME * max(1.0, abs(limit))
