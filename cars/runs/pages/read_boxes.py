"""Boxes of figures read at a track: what was typed into each, and why it cannot be kept."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from cars.catalogue.keys import Key
from cars.catalogue.queries import catalogue
from cars.figures.box_entries import read_entry
from cars.mechanics import CORNER_NAMES
from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.reading import QuantityError, Typed
from clubsetup.quantities.table import unit_of
from clubsetup.quantities.units import Units


@dataclass(frozen=True, slots=True)
class ReadBox:
    """One box: what was typed into it and why it is none; `seen` names what stood in it."""

    name: str
    label: str
    text: str = ""
    wrong: str = ""
    seen: str = ""


def typed_in(
    sent: Mapping[str, Any], measures: Sequence[str], units: Units, wrong: dict[str, str]
) -> dict[Key, Typed]:
    """What was typed, by box; why a box is none goes into `wrong`."""
    known = catalogue().measures
    typed: dict[Key, Typed] = {}
    for key in keys_of(measures):
        text = sent.get(str(key), "").strip()
        if not text:
            continue
        try:
            entry = read_entry(known[key.measure], key, text, units)
        except QuantityError as refusal:
            wrong[str(key)] = refusal.message
        else:
            if entry.quantity is not None:
                typed[key] = entry.quantity
    return typed


def keys_of(measures: Sequence[str]) -> list[Key]:
    """The four corners of each."""
    return [Key(measure, corner) for measure in measures for corner in CORNER_NAMES]


def unit_words(measure: str, units: Units) -> str:
    """In what a bare number is taken."""
    kind = Kind(catalogue().measures[measure].kind)
    return unit_of(kind, units.for_kind(kind)).suffix.strip()
