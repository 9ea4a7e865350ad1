"""A chassis' geometry box by box: what each is called, what it can be, and what goes with what.

The bounds are in clubsetup/quantities/bounds.py: common practice, no source. They are held here
for the page, which speaks in the units typed, and for the API, which takes mm and N/mm.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from cars.figures.prediction_format import as_decimal
from cars.mechanics import CORNER_NAMES
from clubsetup.quantities import bounds
from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.reading import QuantityLimits, within
from clubsetup.quantities.table import CANONICAL
from clubsetup.quantities.writing import tell

AXES = ("x", "y")
OVERHANG = 500.0  # mm that a frame reaches beyond its axles; common practice, no source


@dataclass(frozen=True, slots=True)
class GeometryBox:
    """One box: its name on the form, its label, and its part of the geometry."""

    name: str
    label: str
    part: str
    kind: Kind | None  # None: a plain ratio
    limits: QuantityLimits


@dataclass(frozen=True, slots=True)
class Nonsense:
    """Why a figure cannot be right, as a sentence to stand beside its box."""

    box: GeometryBox
    message: str


_SCALARS = {
    "wheelbase_left": ("Wheelbase, left", bounds.WHEELBASE),
    "wheelbase_right": ("Wheelbase, right", bounds.WHEELBASE),
    "track_front": ("Track, front (middles of the treads)", bounds.TRACK_WIDTH),
    "track_rear": ("Track, rear (middles of the treads)", bounds.TRACK_WIDTH),
}
_BY_CORNER: dict[str, tuple[str, Kind | None, QuantityLimits]] = {
    "spring_y": ("Spring from the middle, left plus", Kind.LENGTH, bounds.SPRING_PLACE),
    "spring_rate": ("Spring rate", Kind.SPRING_RATE, bounds.SPRING_RATE),
    "motion_ratio": ("Spring travel per axle travel", None, bounds.MOTION_RATIO),
    "thread": ("Seat travel per turn", Kind.LENGTH, bounds.SEAT_TRAVEL),
    "tyre_rate": ("Tyre rate", Kind.SPRING_RATE, bounds.TYRE_RATE),
}
_PLACES = {"x": bounds.ALONG_THE_CAR, "y": bounds.ACROSS_THE_CAR}


def _boxes() -> Iterator[GeometryBox]:
    for name, (label, limits) in _SCALARS.items():
        yield GeometryBox(name, label, name, Kind.LENGTH, limits)
    for part, (label, kind, given) in _BY_CORNER.items():
        for spot in CORNER_NAMES:
            yield GeometryBox(f"{part}_{spot}", f"{label}, {spot}", part, kind, given)
    for spot in CORNER_NAMES:
        for axis in AXES:
            label = f"Height point {axis}, {spot}"
            name = f"height_{axis}_{spot}"
            yield GeometryBox(name, label, "height_points", Kind.LENGTH, _PLACES[axis])


BOXES = {box.name: box for box in _boxes()}


def flat(geometry: Mapping[str, Any]) -> dict[str, float]:
    """A whole geometry as one figure a box."""
    boxes = {name: geometry[name] for name in _SCALARS}
    for part in _BY_CORNER:
        corners = zip(CORNER_NAMES, geometry[part], strict=True)
        boxes |= {f"{part}_{spot}": value for spot, value in corners}
    for spot, point in zip(CORNER_NAMES, geometry["height_points"], strict=True):
        axes = zip(AXES, point, strict=True)
        boxes |= {f"height_{axis}_{spot}": value for axis, value in axes}
    return boxes


def whole(boxes: Mapping[str, float]) -> dict[str, Any]:
    """The geometry that the boxes say."""
    geometry: dict[str, Any] = {name: boxes[name] for name in _SCALARS}
    for part in _BY_CORNER:
        geometry[part] = [boxes[f"{part}_{spot}"] for spot in CORNER_NAMES]
    geometry["height_points"] = [
        [boxes[f"height_{axis}_{spot}"] for axis in AXES] for spot in CORNER_NAMES
    ]
    return geometry


def nonsense_in(
    given: Mapping[str, float], units: Mapping[Kind, str] = CANONICAL
) -> list[Nonsense]:
    """What no car can have, said in these units: each box alone first, then what goes together."""
    alone = [Nonsense(box, why) for box in BOXES.values() if (why := _alone(box, given, units))]
    if alone:
        return alone
    together = _Together(given, units[Kind.LENGTH])
    return [*together.wheelbases(), *together.springs(), *together.height_points()]


def _alone(box: GeometryBox, given: Mapping[str, float], units: Mapping[Kind, str]) -> str:
    value, limits = as_decimal(given[box.name]), box.limits
    if within(value, limits):
        return ""

    def write(one: Decimal | None) -> str:
        if one is None or box.kind is None:
            return f"{float(one or 0):g}"
        return tell(one, box.kind, unit=units[box.kind]).text

    span = f"{limits.name} is between {write(limits.low)} and {write(limits.high)}"
    return f"{write(value)} cannot be right: {span}."


def reach_of(boxes: Mapping[str, float]) -> tuple[Decimal, Decimal, Decimal]:
    """From where to where a car lies along, and how far across from its middle, mm."""
    longest = max(boxes["wheelbase_left"], boxes["wheelbase_right"])
    widest = max(boxes["track_front"], boxes["track_rear"])
    return as_decimal(-OVERHANG), as_decimal(longest + OVERHANG), as_decimal(widest / 2)


class _Together:
    """Figures that go together, and what is said where they do not."""

    def __init__(self, given: Mapping[str, float], unit: str) -> None:
        self.given, self.unit = given, unit
        self.half_front, self.half_rear = given["track_front"] / 2, given["track_rear"] / 2

    def text(self, mm: float) -> str:
        return tell(as_decimal(mm), Kind.LENGTH, unit=self.unit).text

    def wheelbases(self) -> Iterator[Nonsense]:
        apart = abs(self.given["wheelbase_right"] - self.given["wheelbase_left"])
        if apart > bounds.MOST_WHEELBASES_APART:
            yield Nonsense(
                BOXES["wheelbase_right"],
                f"This is {self.text(apart)} from the left one, and no such car has them more than "
                f"{self.text(bounds.MOST_WHEELBASES_APART)} apart. Check both.",
            )

    def springs(self) -> Iterator[Nonsense]:
        for left, right, half in (("LF", "RF", self.half_front), ("LR", "RR", self.half_rear)):
            places = {spot: self.given[f"spring_y_{spot}"] for spot in (left, right)}
            if places[left] <= places[right]:
                yield Nonsense(
                    BOXES[f"spring_y_{left}"],
                    "The left spring must stand left of the right one: left of the middle is plus, "
                    "right of it is minus.",
                )
                continue
            for spot, place in places.items():
                if abs(place) > half:
                    yield Nonsense(
                        BOXES[f"spring_y_{spot}"],
                        f"{self.text(place)} is outside the tyre, which stands {self.text(half)} "
                        "from the middle.",
                    )

    def height_points(self) -> Iterator[Nonsense]:
        low, high, half = (float(end) for end in reach_of(self.given))
        for spot in CORNER_NAMES:
            x, y = (self.given[f"height_{axis}_{spot}"] for axis in AXES)
            if not low <= x <= high:
                yield Nonsense(
                    BOXES[f"height_x_{spot}"],
                    f"{self.text(x)} ahead of the rear axle is outside the car, which reaches from "
                    f"{self.text(low)} to {self.text(high)}.",
                )
            if abs(y) > half:
                yield Nonsense(
                    BOXES[f"height_y_{spot}"],
                    f"{self.text(y)} is outside the car, whose tyres stand {self.text(half)} from "
                    "the middle.",
                )
        for left, right in (("LF", "RF"), ("LR", "RR")):
            if self.given[f"height_y_{left}"] <= self.given[f"height_y_{right}"]:
                yield Nonsense(
                    BOXES[f"height_y_{left}"],
                    "The left point must lie left of the right one: left of the middle is plus, "
                    "right of it is minus.",
                )
        for front, rear in (("LF", "LR"), ("RF", "RR")):
            if self.given[f"height_x_{front}"] <= self.given[f"height_x_{rear}"]:
                yield Nonsense(
                    BOXES[f"height_x_{front}"],
                    "The front point must lie ahead of the rear one; both are counted forward from "
                    "the rear axle.",
                )
