"""The parts on a car as a sheet has them, for those who may see the team's marks."""

from dataclasses import dataclass, field
from decimal import Decimal

from cars.figures.formatting import format_figure
from cars.mechanics import CORNER_NAMES
from cars.models import Measure, Part, PartFitted, Reading, Sheet
from clubsetup.access.models import User
from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.texts import same_text
from clubsetup.quantities.units import Units
from teams.queries.roles import roles_of

# The step of the order of work in which each sort of part is looked at.
STEPS = {
    "springs-dampers": (Part.Sort.SPRING, Part.Sort.DAMPER),
    "tyres": (Part.Sort.TYRE,),
}


@dataclass(slots=True)
class FittedPlace:
    """One sort of part at one corner: what is there, and what could be."""

    sort: str
    spot: str
    choices: list[Part]
    fitted: Part | None = None
    differs: str = ""  # how the rate on the sheet differs from the part's

    @property
    def field(self) -> str:
        """The name of its field: spring-LF."""
        return f"{self.sort}-{self.spot}"


@dataclass(slots=True)
class SortView:
    """One sort of part at the four corners."""

    sort: str
    name: str
    places: list[FittedPlace] = field(default_factory=list)

    @property
    def has_parts(self) -> bool:
        """The team keeps parts of this sort."""
        return bool(self.places and self.places[0].choices)


def fitted_view(sheet: Sheet, viewer: User, step: str = "") -> list[SortView]:
    """The corners with their parts, those of one step or all; nothing for who may not see marks.

    Three queries.
    """
    sorts = STEPS.get(step, ()) if step else tuple(Part.Sort)
    if not sorts or not roles_of(viewer).may_see_codes(sheet.team_id):
        return []
    parts = Part.objects.filter(team_id=sheet.team_id, sort__in=sorts).select_related("code")
    known = sorted(parts, key=lambda part: (mark_of(part) == NO_CODE, mark_of(part)))
    rows = PartFitted.objects.current().filter(sheet=sheet)
    fitted = {(row.sort, row.spot): row.part_id for row in rows}
    by_id = {part.pk: part for part in known}
    views = []
    for sort in sorts:
        choices = [part for part in known if part.sort == sort]
        view = SortView(sort, Part.Sort(sort).label)
        for spot in CORNER_NAMES:
            part_id = fitted.get((sort, spot))
            view.places.append(
                FittedPlace(sort, spot, choices, by_id.get(part_id) if part_id else None)
            )
        views.append(view)
    _compare_rates(views, sheet, viewer)
    return views


NO_CODE = "no code"


def mark_of(part: Part) -> str:
    """The team's mark on a part."""
    code = getattr(part, "code", None)
    return code.code if code else NO_CODE


def _compare_rates(views: list[SortView], sheet: Sheet, viewer: User) -> None:
    """A rate typed by hand wins; where it is not the part's, that is said."""
    springs = [p for v in views for p in v.places if p.fitted and p.fitted.rate is not None]
    if not springs:
        return
    rows = (
        Reading.objects.current()
        .filter(sheet=sheet, measure="spring-rate", take=1)
        .select_related("measure")
    )
    taken = {row.spot: row for row in rows}
    units = viewer.units(sheet.team.club.units())
    for place in springs:
        row = taken.get(place.spot)
        if row is not None and row.value is not None and place.fitted is not None:
            place.differs = _differs(row.value, place.fitted, row.measure, units)


def _differs(value: Decimal, part: Part, measure: Measure, units: Units) -> str:
    if part.rate is None or value == part.rate:
        return ""
    typed = format_figure(value, measure, units)
    return f"{typed} is typed on the sheet; the part says {part.rate_typed}."


def rate_text(part: Part, units: Units) -> str:
    """A spring's rate as it was typed on the part, so that it means the same to this person.

    Where the unit went without saying and theirs is another, it is said.
    """
    rate = part.rate or Decimal(0)
    return same_text(part.rate_typed, rate, Kind.SPRING_RATE, units=units).text
