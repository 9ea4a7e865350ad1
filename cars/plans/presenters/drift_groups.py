"""What a car did by itself with one part and another, and at one track and another, in words."""

from collections.abc import Iterable
from dataclasses import dataclass

from cars.catalogue.queries import Catalogue
from cars.models import Part, Spot
from cars.plans.presenters.drift import format_moved
from cars.plans.queries.drift_groups import DriftGroup, PlaceGroups
from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.units import Units

FEW = "too few to tell"


@dataclass(frozen=True, slots=True)
class GroupLine:
    """One part or track: its middle and spread, or that they are too few."""

    name: str
    middle: str
    spread: str
    weekends: int

    @property
    def is_few(self) -> bool:
        """No middle is told."""
        return not self.middle


@dataclass(frozen=True, slots=True)
class PlaceLines:
    """One place, and what it did in each group."""

    name: str
    groups: list[GroupLine]


def place_lines(places: Iterable[PlaceGroups], known: Catalogue, units: Units) -> list[PlaceLines]:
    """Every place in words, in the order of the work."""
    lines = []
    for each in places:
        measure = known.measures[each.place.measure]
        kind = Kind(measure.kind)
        where = "" if each.place.spot == Spot.CAR else f" {each.place.spot}"
        by = f", by {Part.Sort(each.sort).label.lower()}" if each.sort else ""
        groups = [_line(group, kind, units) for group in each.groups]
        lines.append(PlaceLines(f"{measure.name}{where}{by}", groups))
    return lines


def _line(group: DriftGroup, kind: Kind, units: Units) -> GroupLine:
    middle = spread = ""
    if group.is_enough:
        middle = format_moved(group.habit.middle, kind, units, sign=True)
        spread = format_moved(group.habit.spread, kind, units)
    return GroupLine(group.name, middle, spread, group.habit.weekends)
