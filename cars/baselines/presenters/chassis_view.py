"""A chassis in the units of the person who reads its page."""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from cars.figures.prediction_format import as_decimal
from cars.models import BallastMount, Chassis
from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.units import Units
from clubsetup.quantities.writing import show

# Digits after the point, where a figure is no fraction of an inch.
PLACES = {Kind.LENGTH: 1, Kind.SPRING_RATE: 1, Kind.MASS: 1}
FINEST = 64


@dataclass(frozen=True, slots=True)
class MountLine:
    """A place for ballast."""

    name: str
    ahead: str
    left: str
    carries: str


def geometry_lines(chassis: Chassis, units: Units) -> list[tuple[str, str]]:
    """'Wheelbase': 'left 47 13/16 in, right 48 13/16 in', and so on; empty without geometry."""
    geometry = chassis.geometry
    if not geometry:
        return []

    def length(value: float) -> str:
        return _format(as_decimal(value), Kind.LENGTH, units)

    springs = [
        _format(as_decimal(rate), Kind.SPRING_RATE, units) for rate in geometry["spring_rate"]
    ]
    front, rear = geometry["front_axle"], geometry["rear_axle"]
    left, right = length(geometry["wheelbase_left"]), length(geometry["wheelbase_right"])
    ahead, behind = length(geometry["track_front"]), length(geometry["track_rear"])
    return [
        ("Wheelbase", f"left {left}, right {right}"),
        ("Track", f"front {ahead}, rear {behind}"),
        ("Springs LF, RF, LR, RR", ", ".join(springs)),
        ("Seat travel per turn", ", ".join(length(travel) for travel in geometry["thread"])),
        ("Axles", f"front {front}, rear {rear}"),
    ]


def mount_lines(mounts: Iterable[BallastMount], units: Units) -> list[MountLine]:
    """Where ballast may be fixed, and how much."""
    return [
        MountLine(
            name=str(mount),
            ahead=_format(mount.x, Kind.LENGTH, units),
            left=_format(mount.y, Kind.LENGTH, units),
            carries=_format(mount.capacity, Kind.MASS, units),
        )
        for mount in mounts
    ]


def _format(value: Decimal, kind: Kind, units: Units) -> str:
    unit = units.for_kind(kind)
    if unit == "in":
        return show(value, kind, unit=unit, style="fraction", denominator=FINEST).pretty
    return show(value, kind, unit=unit, places=PLACES[kind]).pretty
