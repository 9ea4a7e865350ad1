"""How near is near enough where nobody has said."""

from cars.models import Measure

# Where neither baseline nor tool says it. Common practice, no source.
USUAL_TOLERANCE = {"length": 1.5875, "percent": 0.5, "angle": 0.5, "mass": 0.5}


def tolerance_of(measure: Measure) -> float:
    """The usual, or the tool's step where that is coarser; canonical."""
    usual = USUAL_TOLERANCE.get(measure.kind, 1.0)
    return max(usual, float(measure.tool_resolution or 0))
