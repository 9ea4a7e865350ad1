"""Predicted figures as the person looking reads them: never more digits than are known."""

import math
from decimal import Decimal

from cars.mechanics.calibration import COVERAGE_95
from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.table import unit_of
from clubsetup.quantities.units import Units
from clubsetup.quantities.writing import show

# What a length may be off by is said in these parts of an inch or foot: half a step of a tape.
PARTS_OF_REACH = 32
# Digits after the point of a predicted figure and of its spread, by unit.
_PLACES = {
    **{"lb": 1, "kg": 1, "oz": 0, "g": 0, "in": 2, "ft": 3, "mm": 1, "cm": 2, "%": 1, "deg": 1},
    **{"lb/in": 1, "N/m": 0, "mph": 1, "km/h": 1, "ft/s": 1, "m/s": 1},
}


def as_decimal(value: float) -> Decimal:
    """A computed figure as a decimal that can be written."""
    return Decimal(repr(round(value, 9)))


def format_predicted(value: float, kind: Kind, units: Units) -> str:
    """A canonical figure: inches to the nearest sixteenth, the rest to a sensible digit."""
    unit = units.for_kind(kind)
    if unit in ("in", "ft"):
        return show(as_decimal(value), kind, unit=unit, style="fraction").pretty
    shown = show(as_decimal(value), kind, unit=unit, places=_PLACES.get(unit, 2))
    return shown.pretty


def format_spread(u: float, kind: Kind, units: Units) -> str:
    """'± 0.4 lb': half the 95 % interval of a standard uncertainty, rounded up."""
    return format_reach(COVERAGE_95 * u, kind, units)


def format_reach(reach: float, kind: Kind, units: Units) -> str:
    """'± 0.4 lb': how far off a figure may be, rounded up."""
    unit = units.for_kind(kind)
    if unit in ("in", "ft"):
        return f"± {_up_on_a_tape(reach, unit)}"
    places = _PLACES.get(unit, 2)
    one = float(show(as_decimal(reach), kind, unit=unit, places=9, delta=True).bare)
    up = math.ceil(one * 10**places - 1e-6) / 10**places
    suffix = show(Decimal(0), kind, unit=unit, places=places, delta=True).suffix
    return f"± {up:.{places}f}{suffix}"


def _up_on_a_tape(length: float, unit: str) -> str:
    """A length in parts as a tape has them: to the next one up."""
    step = float(unit_of(Kind.LENGTH, unit).factor) / PARTS_OF_REACH
    up = math.ceil(length / step - 1e-6) * step
    return show(
        as_decimal(up), Kind.LENGTH, unit=unit, style="fraction", denominator=PARTS_OF_REACH
    ).text


def format_turns(turns: float) -> str:
    """'+1/2 turn', '−1 1/4 turns'."""
    return show(as_decimal(turns), Kind.TURNS, unit="turn", sign=True).pretty
