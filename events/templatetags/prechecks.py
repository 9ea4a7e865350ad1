"""How the pre-check's figures are written."""

from decimal import Decimal

from django import template

from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.uncertainty import Estimate
from clubsetup.quantities.units import Units
from clubsetup.quantities.writing import show
from events.queries.precheck import percent

register = template.Library()


@register.filter
def estimate(one: Estimate, units: Units) -> str:
    """A weight plus or minus twice its standard uncertainty, to a tenth."""
    value, doubt = (
        show(
            Decimal(repr(round(n, 9))), Kind.MASS, unit=units.mass, style="decimal", places=1
        ).pretty
        for n in (one.value, 2.0 * one.u)
    )
    return f"{value} ± {doubt}"


@register.filter
def chance(share: float) -> str:
    """A chance as people say it."""
    return percent(share)
