"""Tracks as people read them."""

from collections.abc import Iterator
from decimal import Decimal

from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.spelling import has_unit
from clubsetup.quantities.table import CANONICAL
from clubsetup.quantities.units import Units
from clubsetup.quantities.writing import show, tell
from teams.models import Track


def track_units(units: Units) -> Units:
    """Units for tracks: feet for who measures a car in inches, metres for who does in metric."""
    return units.merged({"length": "ft" if units.length in ("in", "ft", "yd", "mi") else "m"})


def shape_to_read(track: Track, units: Units) -> dict[str, str]:
    """What is known of a track's shape, written in `units`; 'about' stands where it is rounded."""
    return {
        name: str(tell(value, kind, unit=units.for_kind(kind)))
        for name, value, kind in _known(track)
    }


def shape_to_edit(track: Track, units: Units) -> dict[str, str]:
    """The same as texts that read back as the very values."""
    written = {}
    for name, value, kind in _known(track):
        shown = show(value, kind, unit=units.for_kind(kind), style="decimal")
        exact = shown if shown.exact else show(value, kind, unit=CANONICAL[kind])
        written[name] = _typed_with_unit(track.typed.get(name, "")) or exact.text
    return written


def _typed_with_unit(typed: str) -> str:
    """What was typed, if its unit was: a bare number means another length to another reader."""
    return typed if has_unit(typed) else ""


def _known(track: Track) -> Iterator[tuple[str, Decimal, Kind]]:
    for name, value, kind in (
        ("corner_radius", track.corner_radius, Kind.LENGTH),
        ("lap_length", track.lap_length, Kind.LENGTH),
        ("banking", track.banking, Kind.ANGLE),
    ):
        if value is not None:
            yield name, value, kind
