"""What a car did by itself, by the part that was on and by the track it ran at."""

from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from uuid import UUID

from cars.catalogue.queries import Catalogue
from cars.mechanics.drift import Habit, Place, habit
from cars.models import Car, Part, PartFitted, Sheet
from cars.plans.queries.drift import Weekend, moved_over
from cars.sheets.queries.parts_fitted import code_of
from teams.models import Track

ENOUGH_IN_GROUP = 3  # below it a middle says nothing; our judgement

Sort = Part.Sort
# Which part may move which figure of its spot: common practice, no source.
MOVED_BY: Mapping[str, tuple[Sort, ...]] = {
    "pressure": (Sort.TYRE,),
    "circumference": (Sort.TYRE,),
    "ride-height": (Sort.SPRING, Sort.DAMPER, Sort.TYRE),
    "weight": (Sort.SPRING, Sort.DAMPER),
    "seat-thread": (Sort.SPRING,),
    "damper-gas": (Sort.DAMPER,),
    "chain-slack": (Sort.CHAIN, Sort.SPROCKET),
}


@dataclass(frozen=True, slots=True)
class DriftGroup:
    """What a place did with one part on it, or at one track: the middle and the spread."""

    of: UUID
    name: str
    habit: Habit

    @property
    def is_enough(self) -> bool:
        """So many weekends that a middle says something."""
        return self.habit.weekends >= ENOUGH_IN_GROUP


@dataclass(frozen=True, slots=True)
class PlaceGroups:
    """The groups of one place, those of the most weekends first. `sort`: of parts."""

    place: Place
    groups: list[DriftGroup]
    sort: str = ""


Named = tuple[UUID, str]
Moved = tuple[Weekend, Mapping[Place, float]]


def drift_by_track(car: Car, known: Catalogue) -> list[PlaceGroups]:
    """By the track between two sheets; a weekend whose sheets name two tracks is left out."""
    moved = moved_over(car, known)
    tracks = _tracks(moved)

    def at(weekend: Weekend, _place: Place) -> Iterable[tuple[str, Named]]:
        named = {tracks.get(sheet.pk) for sheet in _both(weekend)} - {None}
        return [("", each) for each in named if each and len(named) == 1]

    return _grouped(moved, at, known)


def drift_by_part(car: Car, known: Catalogue) -> list[PlaceGroups]:
    """By the part on the spot; nothing for who may not see the codes.

    A weekend counts for a part that was on by the sheet as set, unless the sheet as found has
    another there, or none while it has others: then it was swapped in between.
    """
    moved = moved_over(car, known)
    fitted = _fitted(moved)

    def on(weekend: Weekend, place: Place) -> Iterable[tuple[str, Named]]:
        before, after = (fitted.get(sheet.pk, {}) for sheet in _both(weekend))
        for sort in MOVED_BY.get(place.measure, ()):
            part = before.get((sort, place.spot))
            if part and (not after or after.get((sort, place.spot)) == part):
                yield sort, part

    return _grouped(moved, on, known)


def _grouped(
    moved: Iterable[Moved],
    of: Callable[[Weekend, Place], Iterable[tuple[str, Named]]],
    known: Catalogue,
) -> list[PlaceGroups]:
    found: dict[tuple[Place, str], dict[Named, list[float]]] = {}
    for weekend, differences in moved:
        for place, difference in differences.items():
            for sort, named in of(weekend, place):
                groups = found.setdefault((place, sort), defaultdict(list))
                groups[named].append(difference)
    order = list(known.measures)
    places = sorted(found, key=lambda each: (order.index(each[0].measure), each[0].spot, each[1]))
    return [
        PlaceGroups(place, _groups(found[place, sort]), sort)
        for place, sort in places
        # A place that never moved has nothing to tell apart.
        if any(any(values) for values in found[place, sort].values())
    ]


def _groups(values: Mapping[Named, list[float]]) -> list[DriftGroup]:
    groups = [DriftGroup(*named, habit(each)) for named, each in values.items()]
    return sorted(groups, key=lambda group: (-group.habit.weekends, group.name))


def _both(weekend: Weekend) -> tuple[Sheet, Sheet]:
    return weekend.set_sheet, weekend.found_sheet


def _ids(moved: Iterable[Moved]) -> list[UUID]:
    return [sheet.pk for weekend, _ in moved for sheet in _both(weekend)]


def _tracks(moved: Iterable[Moved]) -> dict[UUID, Named]:
    rows = Sheet.objects.filter(pk__in=_ids(moved), track__isnull=False)
    of_sheet = dict(rows.order_by().values_list("pk", "track_id"))
    names = dict(Track.objects.filter(pk__in=set(of_sheet.values())).values_list("pk", "name"))
    return {
        sheet: (track, names[track])
        for sheet, track in of_sheet.items()
        if track and track in names
    }


def _fitted(moved: Iterable[Moved]) -> dict[UUID, dict[tuple[str, str], Named]]:
    rows = PartFitted.objects.current().filter(sheet__in=_ids(moved))
    found: dict[UUID, dict[tuple[str, str], Named]] = defaultdict(dict)
    for row in rows.select_related("part__code"):
        named = (row.part_id, code_of(row.part) or "no code")
        found[row.sheet_id][row.sort, row.spot] = named
    return found
