"""How the pre-check's figures are written."""

from django import template

from cars.figures.prediction_format import format_predicted, format_spread
from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.uncertainty import Estimate
from clubsetup.quantities.units import Units
from events.precheck.presenters.underweight_text import percent

register = template.Library()

NO_BREAK = "\N{NO-BREAK SPACE}"


@register.filter
def estimate(one: Estimate, units: Units) -> str:
    """A weight plus or minus half its 95 % interval, as plans are written."""
    return (
        f"{format_predicted(one.value, Kind.MASS, units)} {format_spread(one.u, Kind.MASS, units)}"
    )


@register.filter
def chance(share: float) -> str:
    """A chance as people say it, on one line."""
    return percent(share).replace(" ", NO_BREAK)
