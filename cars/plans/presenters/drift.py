"""What moved by itself as pages and API say it."""

import math
from dataclasses import dataclass

from cars.catalogue.queries import Catalogue
from cars.figures.prediction_format import as_decimal
from cars.mechanics.drift import Drift
from cars.models import Measure, Spot
from cars.models.catalogue import Taken
from cars.plans.queries.drift import CarDrift
from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.units import Units
from clubsetup.quantities.writing import show

STATES = {
    "moved": ("bad", "✕", "look for a loose or bent part"),
    "too few to tell": ("close", "≈", "more than its tolerance; too few weekends to tell"),
    "too little to tell": ("close", "≈", "too little to tell"),
    "usual for this car": ("none", "·", "usual for this car"),
    "within tolerance": ("good", "✓", "within its tolerance"),
}
# Nothing gains pressure by coming loose.
LESS_AIR = "look for a leak, or another gauge"
MORE_AIR = "look for another gauge, or a warmer day"
_PLACES = {"psi": 1, "bar": 2, "kPa": 0, "in": 3, "lb": 1, "kg": 2, "mm": 1, "%": 1, "deg": 1}


@dataclass(frozen=True, slots=True)
class DriftLine:
    """What one place did."""

    name: str
    spot: str
    moved: str
    usual: str
    state: str
    shape: str
    words: str
    note: str  # what the tool can tell

    @property
    def text(self) -> str:
        """Words and note in one."""
        return f"{self.words}: {self.note}" if self.note else self.words


def drift_lines(drift: CarDrift, known: Catalogue, units: Units) -> list[DriftLine]:
    """Every place in words, what moved most first."""
    return [drift_line(each, known, units) for each in drift.drifts]


def drift_line(each: Drift, known: Catalogue, units: Units) -> DriftLine:
    """One place in words."""
    measure = known.measures[each.place.measure]
    kind = Kind(measure.kind)
    state, shape, words = STATES[each.verdict]
    if state == "bad" and kind is Kind.PRESSURE:
        words = LESS_AIR if each.difference < 0 else MORE_AIR
    return DriftLine(
        name=measure.name,
        spot="" if each.place.spot == Spot.CAR else each.place.spot,
        moved=format_moved(each.difference, kind, units, sign=True),
        usual=_usual(each, kind, units),
        state=state,
        shape=shape,
        words=words,
        note=_note(each, measure, units),
    )


def _note(each: Drift, measure: Measure, units: Units) -> str:
    """What the tool can tell, where the difference is no more than that."""
    small = each.verdict in {"within tolerance", "too little to tell"}
    if not small or each.difference == 0 or abs(each.difference) > each.tells:
        return ""
    least = _tells(each, measure, units)
    return f"two readings of a car that stood still may differ by {least}"


def _usual(each: Drift, kind: Kind, units: Units) -> str:
    """What the car did there so far: '+1/16 in ± 1/16 in over 6', 'mostly 0 over 6'."""
    if each.habit is None:
        return "–"
    middle, weekends = format_moved(each.habit.middle, kind, units, sign=True), each.habit.weekends
    if each.habit.spread == 0:
        return f"mostly {middle} over {weekends}"  # no median deviation: at least half are alike
    return f"{middle} ± {format_moved(each.habit.spread, kind, units)} over {weekends}"


def _tells(each: Drift, measure: Measure, units: Units) -> str:
    """What two readings may differ by: a step of the tool as read, 3 sqrt(2) u as computed."""
    least = each.tells if measure.taken == Taken.DERIVED else math.sqrt(12.0) * each.u
    return format_moved(least, Kind(measure.kind), units)


def format_moved(value: float, kind: Kind, units: Units, *, sign: bool = False) -> str:
    unit = units.for_kind(kind)
    if unit == "in":
        shown = show(
            as_decimal(value), kind, unit=unit, sign=sign, style="fraction", denominator=32
        )
    else:
        places = _PLACES.get(unit, 2)
        shown = show(as_decimal(value), kind, unit=unit, sign=sign, places=places, delta=True)
    zero = not any(char in "123456789" for char in shown.bare)
    return "0" if zero else shown.pretty
