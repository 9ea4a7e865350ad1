"""Readings sent to the API as the actions take them."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from cars.catalogue.keys import Key
from cars.figures.box_entries import BoxEntry, read_entry
from cars.models import Measure
from cars.sheets.actions.conflicts import SeenReadings
from clubsetup.access.errors import Invalid
from clubsetup.quantities.errors import QuantityError
from clubsetup.quantities.units import Units


def seen_of(given: Sequence[Mapping[str, Any]]) -> SeenReadings:
    """What was seen in each box."""
    return {Key(one["measure"], one["spot"], one["take"]): one["seen"] for one in given}


def entries_of(given: Sequence[Mapping[str, Any]], units: Units) -> list[BoxEntry]:
    """Parses the text of each. Raises Invalid, naming the place of the first bad one."""
    measures = Measure.objects.in_bulk({one["measure"] for one in given})
    return [_entry(place, one, measures, units) for place, one in enumerate(given)]


def _entry(
    place: int, given: Mapping[str, Any], measures: Mapping[str, Measure], units: Units
) -> BoxEntry:
    measure = measures.get(given["measure"])
    if measure is None:
        raise Invalid(f"readings/{place}/measure", "There is no such measure in the catalogue.")
    key = Key(measure.pk, given["spot"], given["take"])
    try:
        entry = read_entry(measure, key, given["typed"], units, given.get("id"))
    except QuantityError as refusal:
        raise Invalid(f"readings/{place}/typed", refusal.message) from refusal
    return replace(entry, taken_at=given["taken_at"])
