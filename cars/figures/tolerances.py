"""How near is near enough where nobody has said, and what a target may be at all."""

from decimal import Decimal

from cars.models import Measure
from clubsetup.quantities.reading import QuantityLimits

# Where neither baseline nor tool says it. Common practice, no source.
USUAL_TOLERANCE = {"length": 1.5875, "percent": 0.5, "angle": 0.5, "mass": 0.5}


def tolerance_of(measure: Measure) -> float:
    """The usual, or the tool's step where that is coarser; canonical."""
    usual = USUAL_TOLERANCE.get(measure.kind, 1.0)
    return max(usual, float(measure.tool_resolution or 0))


def target_limits(measure: Measure) -> QuantityLimits:
    """What a target of the measure can sensibly be: what a reading of it can."""
    return QuantityLimits(measure.low, measure.high, measure.name.lower())


def tolerance_limits(measure: Measure) -> QuantityLimits:
    """What its tolerance can be: nothing, or all that a reading can differ by."""
    if measure.low is None or measure.high is None:
        return QuantityLimits(Decimal(0), None, f"the tolerance of {measure.name.lower()}")
    span = measure.high - measure.low
    return QuantityLimits(Decimal(0), span, f"the tolerance of {measure.name.lower()}")
