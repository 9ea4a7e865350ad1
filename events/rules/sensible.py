"""Whether a rule asks for something that a car can have, a tool can tell and a person can read.

The bounds stand in each parameter's metadata; here they are held against the values and told in
the reader's units. They are wide: common practice, no source. A bound that is not round in
the reader's unit is told a little narrower than it is, so that whatever is told is accepted.
"""

import math
from collections.abc import Callable, Mapping
from dataclasses import replace
from decimal import Decimal
from typing import Any, TypeVar

from clubsetup.quantities.kinds import PLACES, Kind
from clubsetup.quantities.table import unit_of
from clubsetup.quantities.units import Units
from clubsetup.quantities.writing import show
from events.rules.parameters import Parameter, ParameterError
from events.rules.rule_text import format_gap

# A figure with more letters than these is rounded for the telling.
_SHORT = 5

R = TypeVar("R", bound=Any)


def format_bounds(parameter: Parameter, units: Units) -> str:
    """'from 100 lb to 1500 lb'; empty for a parameter without bounds."""
    bounds = parameter.bounds
    if bounds is None:
        return ""
    low = _end(bounds.low, parameter.quantity, units, math.ceil)
    return f"from {low} to {_end(bounds.high, parameter.quantity, units, math.floor)}"


def refuse_absurd(
    parameters: Mapping[str, Parameter], values: Mapping[str, object], units: Units
) -> None:
    """Refuse what no class would ask for. Raises ParameterError naming the parameter.

    Each value must lie within its bounds, and a band must be wide enough that a reading in its
    middle meets it even with a guard band.
    """
    for name, parameter in parameters.items():
        value = values.get(name)
        bounds = parameter.bounds
        if bounds is None or not isinstance(value, int | Decimal):
            continue
        if not bounds.low <= value <= bounds.high:
            given = _format(Decimal(value), parameter.quantity, units)
            raise ParameterError(name, f"must be {format_bounds(parameter, units)}, not {given}")
    _refuse_narrow(parameters, values, units)


def rounded(rule: R, units: Units) -> R:
    """The rule with quantities that are short in the reader's unit: 155 kg and not 154.22."""
    quantities = {name: p.quantity for name, p in rule.parameters().items() if p.quantity}
    values = {name: getattr(rule, name) for name in quantities}
    round_ones = {
        name: _round(value, quantities[name], units)[0]
        for name, value in values.items()
        if value is not None
    }
    return replace(rule, **round_ones)


def _refuse_narrow(
    parameters: Mapping[str, Parameter], values: Mapping[str, object], units: Units
) -> None:
    low, high = values.get("at_least"), values.get("at_most")
    if not isinstance(low, int | Decimal) or not isinstance(high, int | Decimal):
        return
    end, start = parameters["at_most"], parameters["at_least"]
    if end.bounds is not None and high - low < end.bounds.apart:
        gap = _end(end.bounds.apart, end.quantity, units, math.ceil)
        problem = f"must stand {gap} or more above {start.label.lower()}: no tool tells less apart"
        raise ParameterError("at_most", problem)


def _format(value: Decimal, kind: Kind | None, units: Units) -> str:
    return str(value) if kind is None else format_gap(float(value), kind, units)


def _end(value: Decimal, kind: Kind | None, units: Units, towards: Callable[[Decimal], int]) -> str:
    return str(value) if kind is None else _round(value, kind, units, towards)[1]


def _round(
    value: Decimal, kind: Kind, units: Units, towards: Callable[[Decimal], int] = round
) -> tuple[Decimal, str]:
    """A value and its text: itself where that is short, else to a whole or one figure of it."""
    name = units.for_kind(kind)
    shown = show(value, kind, unit=name)
    if shown.exact and len(shown.bare) <= _SHORT:
        return value, shown.text
    factor = unit_of(kind, name).factor
    number = value * factor.denominator / factor.numerator
    places = max(0, -number.adjusted())
    count = Decimal(towards(number.scaleb(places))).scaleb(-places)
    near = round(count * factor.numerator / factor.denominator, PLACES)
    return near, show(near, kind, unit=name).text
