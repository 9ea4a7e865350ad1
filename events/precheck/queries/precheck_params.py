"""What a family asks the pre-check: what its scales said, and what lies between them and ours."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any

from cars.catalogue.keys import Key
from cars.catalogue.queries import catalogue
from cars.figures.box_entries import read_entry
from cars.mechanics import CORNER_NAMES
from clubsetup.access.errors import Invalid
from clubsetup.quantities.errors import QuantityError
from clubsetup.quantities.reading import QuantityLimits, Typed
from clubsetup.quantities.units import Units
from events.rules.light import Race

# Common practice, no source; every one of them can be written over.
USUAL = {
    "laps": "20",
    "burn": "0.03 lb",
    "burn_known": "30",
    "filled": "0 lb",
    "scales_apart": "0.5 lb",
    "risk": "3",
}
POUND = Decimal("0.45359237")
GALLON = Decimal("3.785411784")  # litres
# Wide enough for any such car; what is outside was meant otherwise.
FUEL = QuantityLimits(Decimal(0), 10 * GALLON, "the fuel in it")
BURN = QuantityLimits(Decimal(0), 2 * POUND, "the fuel burnt a lap")
FILLED = QuantityLimits(Decimal(0), 60 * POUND, "the fuel put in")
APART = QuantityLimits(Decimal(0), 50 * POUND, "how far scales differ")
TOTAL = QuantityLimits(50 * POUND, 4000 * POUND, "what a whole car weighs")
MOST_LAPS, MOST_RISK, PERCENT = 500, 50, 100
WEIGHT = "weight"


@dataclass(frozen=True, slots=True, kw_only=True)
class JustRead:
    """What somebody read off the scales just now: four pads, a total, or nothing."""

    pads: Mapping[str, Typed] = field(default_factory=dict)
    total: Typed | None = None
    driver_in: bool = True
    fuel: Typed | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """The question: readings of one's own if any, the race, and the risk that is accepted."""

    read: JustRead = field(default_factory=JustRead)
    race: Race
    risk: float


def asked_of(given: Mapping[str, Any], read: JustRead) -> Asked:
    """The question from what was written under the names of `USUAL`, each read and in bounds."""
    race = Race(
        laps=given["laps"],
        burn=float(given["burn"].value),
        u_burn=given["burn_known"] / PERCENT,
        filled=float(given["filled"].value),
        scales_apart=float(given["scales_apart"].value),
    )
    return Asked(read=read, race=race, risk=given["risk"] / PERCENT)


def just_read(given: Mapping[str, Any], units: Units) -> JustRead:
    """What was written under the corners' names, `total`, `driver_in` and `fuel`.

    Pads are read as a sheet would read them. Raises Invalid with the box to mend.
    """
    pads = {corner: given[corner] for corner in CORNER_NAMES if given[corner] is not None}
    total, driver_in = given["total"], given["driver_in"]
    if pads and total is not None:
        raise Invalid("total", "Give the four pads or a total, not both.")
    if pads and len(pads) < len(CORNER_NAMES):
        empty = next(corner for corner in CORNER_NAMES if corner not in pads)
        raise Invalid(empty, "Write all four pads, or none and the total.")
    if not pads and total is None and not driver_in:
        raise Invalid("driver_in", "Write what your scales said without the driver.")
    read = {corner: _pad(corner, typed, units) for corner, typed in pads.items()}
    return JustRead(pads=read, total=total, driver_in=driver_in, fuel=given["fuel"])


def _pad(corner: str, typed: Typed, units: Units) -> Typed:
    try:
        entry = read_entry(catalogue().measures[WEIGHT], Key(WEIGHT, corner), typed.text, units)
    except QuantityError as refusal:
        raise Invalid(corner, refusal.message) from refusal
    return entry.quantity or typed
