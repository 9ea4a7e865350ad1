"""A mass as people add it: to a tenth of their unit, rounded to the side that is safe."""

import math
from decimal import Decimal
from fractions import Fraction

from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.table import unit_of
from clubsetup.quantities.units import Units
from clubsetup.quantities.writing import show


def amount(kilograms: Decimal, units: Units) -> str:
    """A weight to a tenth of the reader's unit."""
    return show(kilograms, Kind.MASS, unit=units.mass, style="decimal", places=1).text


def round_up(kilograms: float, units: Units) -> Decimal:
    """To the next tenth of the reader's unit."""
    # Rounding noise of the last digits must not add a tenth of its own.
    return _tenths(math.ceil(round(_in_unit(kilograms, units) * 10, 6)), units)


def round_down(kilograms: float, units: Units) -> Decimal:
    """To the tenth of the reader's unit below."""
    return _tenths(math.floor(round(_in_unit(kilograms, units) * 10, 6)), units)


def format_mass(kilograms: float, units: Units, *, up: bool = False) -> str:
    """A weight as a form is sent it: in the reader's unit, a digit finer than usual; `up` to the
    next one, for what must be reached."""
    unit = unit_of(Kind.MASS, units.mass)
    places = min(unit.usual + 1, unit.places)
    # Rounding noise of the last digits must not add a step of its own.
    parts = round(_in_unit(kilograms, units) * 10**places, 6)
    count = Decimal(math.ceil(parts) if up else round(parts))
    return f"{count.scaleb(-places):f}{unit.suffix}"


def _in_unit(kilograms: float, units: Units) -> float:
    return kilograms / float(unit_of(Kind.MASS, units.mass).factor)


def _tenths(tenths: int, units: Units) -> Decimal:
    factor: Fraction = unit_of(Kind.MASS, units.mass).factor
    return Decimal(tenths) / 10 * Decimal(factor.numerator) / factor.denominator
