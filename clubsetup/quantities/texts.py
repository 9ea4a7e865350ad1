"""A kept quantity as text that reads back as the very same, to be sent again or kept anew."""

from collections.abc import Iterator
from decimal import Decimal

from clubsetup.quantities.errors import QuantityError
from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.reading import Typed, parse
from clubsetup.quantities.table import CANONICAL, units_of
from clubsetup.quantities.units import Units
from clubsetup.quantities.writing import show


def same_text(
    typed: str, value: Decimal, kind: Kind, *, units: Units, delta: bool = False
) -> Typed:
    """What was typed, as long as it means `value` to somebody who reads `units`; where the unit
    went without saying and theirs is another, with its unit.

    Without such a text it is written in their unit, or, where that would alter it, in another
    that says it exactly.
    """
    for text in _texts(typed, value, kind, units, delta=delta):
        try:
            read = parse(text, kind, units=units, delta=delta)
        except QuantityError:
            continue
        if read.value == value:
            return read
    # Digits beyond any text people type, from a computation: as near as can be written.
    return parse(show(value, kind, unit=CANONICAL[kind], delta=delta).text, kind, delta=delta)


def _texts(typed: str, value: Decimal, kind: Kind, units: Units, *, delta: bool) -> Iterator[str]:
    own = units.for_kind(kind)
    names = [own, *(name for name in units_of(kind) if name != own)]
    if typed:
        yield from (typed, *(typed + units_of(kind)[name].suffix for name in names))
    yield from (show(value, kind, unit=name, delta=delta).text for name in names)
