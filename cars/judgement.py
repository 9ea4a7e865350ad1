"""What a figure is to its target: on it, off it and which way, or too close to tell."""

from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum

from clubsetup.quantities.kinds import PLACES

# A tool that shows whole steps is right within half a step: sqrt 3 times its standard uncertainty.
COVERAGE = Decimal(3).sqrt()
_GRAIN = Decimal(1).scaleb(-PLACES)


class Outcome(StrEnum):
    """How a figure stands to its target."""

    ON_TARGET = "on target"
    OFF = "off"
    TOO_CLOSE = "too close to tell"
    NOT_TAKEN = "not taken"
    NO_TARGET = "no target"
    RETAKE = "retake"


@dataclass(frozen=True, slots=True)
class Judgement:
    """The outcome, and by how much the figure misses the target: value - target, canonical."""

    outcome: Outcome
    miss: Decimal = Decimal(0)

    @property
    def is_more(self) -> bool:
        """The figure is more than the target."""
        return self.miss > 0


def judge(
    value: Decimal | None,
    target: Decimal | None,
    tolerance: Decimal = Decimal(0),
    u: Decimal = Decimal(0),
    *,
    coverage: Decimal = COVERAGE,
) -> Judgement:
    """Judges a figure with standard uncertainty `u`, all canonical.

    On target where even the far end of value +- coverage u lies within target +- tolerance, off
    where even the near end lies outside, and too close to tell between: a guard band on both
    sides of the limit (JCGM 106:2012, clause 8, from memory). With u = 0 the limit itself is on
    target. Raises ValueError for a negative tolerance, uncertainty or coverage.
    """
    if tolerance < 0 or u < 0 or coverage < 0:
        raise ValueError("tolerance, uncertainty and coverage are zero or more")
    if value is None:
        return Judgement(Outcome.NOT_TAKEN)
    if target is None:
        return Judgement(Outcome.NO_TARGET)
    miss = value - target
    # Rounded as figures are kept, so that half a step meets half a step.
    reach = (u * coverage).quantize(_GRAIN)
    if abs(miss) + reach <= tolerance:
        return Judgement(Outcome.ON_TARGET, miss)
    if abs(miss) - reach > tolerance:
        return Judgement(Outcome.OFF, miss)
    return Judgement(Outcome.TOO_CLOSE, miss)
