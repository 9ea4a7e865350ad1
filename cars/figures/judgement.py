"""What a figure is to its target: on it, off it and which way, or too close to tell.

Sheet, bench, plans, what-if, prints and API all ask `judge`, with the reach that goes with the
figure, so that a figure has one verdict wherever it is read.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum

from clubsetup.quantities.kinds import PLACES

# 97.5 % point of the normal distribution: value +- K_95 u holds 95 % of what it may be
# (JCGM 100:2008, 6.3.3 and table G.1, with no limit to the degrees of freedom).
K_95 = Decimal("1.959963984540054")
_GRAIN = Decimal(1).scaleb(-PLACES)


class FigureOutcome(StrEnum):
    """How a figure stands to its target."""

    ON_TARGET = "on target"
    OFF = "off"
    TOO_CLOSE = "too close to tell"
    NOT_TAKEN = "not taken"
    NO_TARGET = "no target"
    RETAKE = "retake"


@dataclass(frozen=True, slots=True)
class Standard:
    """What a figure is judged by, canonical: no tolerance means exactly the target."""

    target: Decimal
    tolerance: Decimal = Decimal(0)


@dataclass(frozen=True, slots=True)
class Judgement:
    """The outcome, and by how much the figure misses the target: value - target, canonical."""

    outcome: FigureOutcome
    miss: Decimal = Decimal(0)

    @property
    def is_more(self) -> bool:
        """The figure is more than the target."""
        return self.miss > 0


def reach_of(u: Decimal) -> Decimal:
    """How far a computed figure of standard uncertainty `u` may lie off: 1.96 u, 95 %.

    A figure read off one tool needs no such guess: it is right within half a step.
    """
    return (K_95 * u).quantize(_GRAIN)


def judge(
    value: Decimal | None,
    target: Decimal | None,
    tolerance: Decimal = Decimal(0),
    reach: Decimal = Decimal(0),
) -> Judgement:
    """Judges a figure that may be anywhere within `reach` of its value, all canonical.

    On target where even the far end of value +- reach lies within target +- tolerance, off
    where even the near end lies outside, and too close to tell between: a guard band on both
    sides of the limit (JCGM 106:2012, clause 8, from memory). With no reach the limit itself is on
    target. Raises ValueError for a negative tolerance or reach.
    """
    if tolerance < 0 or reach < 0:
        raise ValueError("tolerance and reach are zero or more")
    if value is None:
        return Judgement(FigureOutcome.NOT_TAKEN)
    if target is None:
        return Judgement(FigureOutcome.NO_TARGET)
    miss = value - target
    if abs(miss) + reach <= tolerance:
        return Judgement(FigureOutcome.ON_TARGET, miss)
    if abs(miss) - reach > tolerance:
        return Judgement(FigureOutcome.OFF, miss)
    return Judgement(FigureOutcome.TOO_CLOSE, miss)


WORST_FIRST = (FigureOutcome.OFF, FigureOutcome.TOO_CLOSE, FigureOutcome.ON_TARGET)


def worst(outcomes: Iterable[FigureOutcome]) -> FigureOutcome:
    """Of several figures together: off where one is, on target only where all are."""
    present = set(outcomes)
    return next((each for each in WORST_FIRST if each in present), FigureOutcome.NO_TARGET)
