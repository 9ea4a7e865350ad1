"""A chassis' geometry: kept as JSON, meant as a `cars.mechanics.Chassis`."""

from collections.abc import Mapping
from dataclasses import MISSING, fields
from typing import Any

from cars.figures.geometry_boxes import flat, nonsense_in, reach_of
from cars.mechanics import BadInput, Corners
from cars.mechanics import Chassis as Mechanics
from clubsetup.access.errors import Invalid
from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.reading import Typed
from clubsetup.quantities.writing import tell

NAMES = tuple(field.name for field in fields(Mechanics))
NEEDED = tuple(field.name for field in fields(Mechanics) if field.default is MISSING)
CORNERS = ("spring_y", "spring_rate", "motion_ratio", "thread", "tyre_rate")


def mechanics_of(geometry: Mapping[str, Any]) -> Mechanics | None:
    """The car that the geometry describes, or None where none is known yet.

    Raises BadInput, naming the field, for what no car can have or what is missing.
    """
    if not geometry:
        return None
    for name in geometry:
        if name not in NAMES:
            raise BadInput(name, "is not a part of a chassis' geometry")
    for name in NEEDED:
        if name not in geometry:
            raise BadInput(name, "is missing")
    given = dict(geometry)
    for name in CORNERS:
        given[name] = Corners.of(_list(name, given[name]))
    given["height_points"] = tuple(tuple(_list("height_points", p)) for p in given["height_points"])
    return Mechanics(**given)


def _list(name: str, value: Any) -> list[Any]:
    if not isinstance(value, list | tuple):
        raise BadInput(name, "must be a list of figures")
    return list(value)


def checked_geometry(geometry: Mapping[str, Any]) -> dict[str, Any]:
    """The geometry as it is kept: plain floats, every field checked by making the car.

    Raises Invalid with the field at fault.
    """
    try:
        car = mechanics_of(geometry)
    except BadInput as problem:
        raise Invalid(f"geometry.{problem.quantity}", str(problem)) from problem
    except (TypeError, ValueError) as problem:
        raise Invalid("geometry", f"The geometry cannot be read: {problem}") from problem
    if car is None:
        return {}
    stored = {name: _plain(getattr(car, name)) for name in NAMES}
    for nonsense in nonsense_in(flat(stored)):
        raise Invalid(f"geometry.{nonsense.box.part}", f"{nonsense.box.label}: {nonsense.message}")
    return stored


def _plain(value: Any) -> Any:
    return [_plain(part) for part in value] if isinstance(value, tuple) else value


def refuse_outside(geometry: Mapping[str, Any], x: Typed, y: Typed) -> None:
    """Raises Invalid, in the units typed, for a place that is outside a car of this geometry."""
    if not geometry:
        return
    low, high, half = reach_of(flat(geometry))
    if not low <= x.value <= high:
        ends = (tell(end, Kind.LENGTH, unit=x.unit) for end in (x.value, low, high))
        raise Invalid(
            "x",
            "{} ahead of the rear axle is outside this chassis, which reaches from {} to {}. "
            "Check figure and unit.".format(*ends),
        )
    if abs(y.value) > half:
        ends = (tell(end, Kind.LENGTH, unit=y.unit) for end in (y.value, half))
        raise Invalid(
            "y",
            "{} is outside this chassis, whose tyres stand {} from the middle. "
            "Check figure and unit.".format(*ends),
        )
