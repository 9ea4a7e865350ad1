"""What moved by itself since the car was left."""

from dataclasses import dataclass
from uuid import UUID

from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from cars.figuring import exact
from cars.mechanics.drift import Drift
from cars.models import Spot
from cars.pages.find import car_or_404
from cars.queries.catalogue import Catalogue, catalogue
from cars.queries.drift import CarDrift, car_drift
from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.units import Units
from clubsetup.quantities.writing import show
from clubsetup.site.pages import person

STATES = {
    "moved": ("bad", "✕", "look for a loose or bent part"),
    "too few to tell": ("close", "≈", "more than its tolerance; too few weekends to tell"),
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


@login_required
def drift(request: HttpRequest, pk: UUID) -> HttpResponse:
    """From left to found: the latest weekend against the car's habit."""
    car, by, known = car_or_404(pk), person(request), catalogue()
    found = car_drift(car, known)
    units = by.units(car.team.club.units())
    lines = drift_lines(found, known, units)
    context = {
        "car": car,
        "drift": found,
        "moved": [line for line in lines if line.state == "bad"],
        "others": [line for line in lines if line.state != "bad" and line.moved != "0"],
        "still": sum(line.moved == "0" for line in lines),
    }
    # The car's page asks for the few lines that matter, once it is there itself.
    brief = request.headers.get("HX-Request") == "true"
    return render(request, f"cars/plans/{'_drift_brief' if brief else 'drift'}.html", context)


def drift_lines(found: CarDrift, known: Catalogue, units: Units) -> list[DriftLine]:
    """Every place in words, what moved most first."""
    return [_line(each, known, units) for each in found.drifts]


def _line(each: Drift, known: Catalogue, units: Units) -> DriftLine:
    measure = known.measures[each.place.measure]
    kind = Kind(measure.kind)
    state, shape, words = STATES[each.verdict]
    if state == "bad" and kind is Kind.PRESSURE:
        words = LESS_AIR if each.difference < 0 else MORE_AIR
    usual = "–"
    if each.habit is not None:
        middle = _said(each.habit.middle, kind, units, sign=True)
        spread = _said(each.habit.spread, kind, units)
        usual = f"{middle} ± {spread} over {each.habit.weekends}"
    return DriftLine(
        name=measure.name,
        spot="" if each.place.spot == Spot.CAR else each.place.spot,
        moved=_said(each.difference, kind, units, sign=True),
        usual=usual,
        state=state,
        shape=shape,
        words=words,
    )


def _said(value: float, kind: Kind, units: Units, *, sign: bool = False) -> str:
    unit = units.for_kind(kind)
    if unit == "in":
        shown = show(exact(value), kind, unit=unit, sign=sign, style="fraction", denominator=32)
    else:
        places = _PLACES.get(unit, 2)
        shown = show(exact(value), kind, unit=unit, sign=sign, places=places, delta=True)
    zero = not any(char in "123456789" for char in shown.bare)
    return "0" if zero else shown.pretty
