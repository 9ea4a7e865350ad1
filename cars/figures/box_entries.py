"""From what was typed into a sheet's boxes to entries that can be kept."""

from dataclasses import dataclass, replace
from datetime import datetime
from decimal import Decimal
from uuid import UUID

from cars.catalogue.keys import Key
from cars.models import Measure
from cars.models.catalogue import Taken
from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.reading import QuantityError, QuantityLimits, Typed, parse
from clubsetup.quantities.spelling import has_unit
from clubsetup.quantities.table import unit_of
from clubsetup.quantities.units import Units

LONGEST_WORDS = 200
DONE = "done"
_MEANS_DONE = frozenset({"done", "yes", "y", "ok", "okay", "on", "x", "✓", "checked", "true"})


@dataclass(frozen=True, slots=True)
class BoxEntry:
    """What stands in one box. No `quantity` for words and checks; empty text empties the box."""

    key: Key
    text: str
    quantity: Typed | None = None
    reading_id: UUID | None = None
    taken_at: datetime | None = None  # None: now

    def same_as(self, text: str, unit: str, value: object) -> bool:
        """Whether a reading kept with these says the same already."""
        if self.quantity is None:
            return text == self.text
        return (text, unit, value) == (self.text, self.quantity.unit, self.quantity.value)


def read_entry(
    measure: Measure, key: Key, text: str, units: Units, reading_id: UUID | None = None
) -> BoxEntry:
    """One box. Raises QuantityError with the sentence for the person who typed."""
    text = text.strip()
    if key.spot not in measure.spots or not 1 <= key.take <= 9:
        raise QuantityError(f"{measure} is read at {', '.join(measure.spots)}.", text)
    if measure.taken == Taken.DERIVED:
        raise QuantityError(f"{measure} is computed from other readings; take those.", text)
    if not text:
        return BoxEntry(key, "", None, reading_id)
    if measure.taken == Taken.DONE:
        return BoxEntry(key, _done(text), None, reading_id)
    if measure.taken == Taken.WORDS:
        if len(text) > LONGEST_WORDS:
            raise QuantityError(f"Write at most {LONGEST_WORDS} letters.", text)
        return BoxEntry(key, text, None, reading_id)
    return BoxEntry(key, text, _quantity(measure, text, units), reading_id)


def _done(text: str) -> str:
    if text.casefold() not in _MEANS_DONE:
        raise QuantityError("Write “done” when it is checked, or leave it empty.", text)
    return DONE


def _quantity(measure: Measure, text: str, units: Units) -> Typed:
    limits = QuantityLimits(measure.low, measure.high, measure.name.lower())
    typed = parse(text, Kind(measure.kind), units=units, limits=limits)
    if measure.kind == Kind.COUNT:
        return replace(typed, resolution=Decimal(0))  # counted, not measured: nothing is rounded
    tool = measure.tool_resolution
    # 46 1/2 was read on a tape of sixteenths; 46 5/32 on a finer one than the usual.
    if tool is None or tool >= typed.resolution:
        return typed
    return replace(typed, resolution=tool)


def box_text(measure: Measure, typed: str, unit: str, units: Units) -> str:
    """What stands in the box of a reading for somebody who reads `units`.

    What was typed, as long as it means the same to them; where the unit went without saying and
    theirs is another, it is said.
    """
    if not measure.kind or not typed or unit == units.for_kind(Kind(measure.kind)):
        return typed
    if not has_unit(typed):
        return typed + unit_of(Kind(measure.kind), unit).suffix
    return typed
