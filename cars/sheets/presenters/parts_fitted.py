"""The parts on a car as a sheet has them, for those who may see the team's codes."""

from dataclasses import dataclass, field
from decimal import Decimal

from cars.figures.formatting import format_figure
from cars.models import Measure, Part, Sheet
from cars.sheets.queries.parts_fitted import (
    STEPS,
    code_of,
    parts_by_code,
    parts_on,
    spring_rates_read,
)
from clubsetup.access.models import User
from clubsetup.quantities.units import Units
from teams.queries.roles import roles_of


@dataclass(slots=True)
class FittedPlace:
    """One sort of part at one spot: what is there, and what could be."""

    sort: str
    spot: str
    choices: list[Part]
    fitted: Part | None = None
    differs: str = ""  # how the rate on the sheet differs from the part's

    @property
    def field(self) -> str:
        """The name of its field: spring-LF."""
        return f"{self.sort}-{self.spot}"

    @staticmethod
    def label_of(part: Part) -> str:
        """'blue 7, 120 lb/in': the team's code, and its rate where it has one."""
        return ", ".join(filter(None, (code_of(part) or "no code", part.rate_typed)))


@dataclass(slots=True)
class SortView:
    """One sort of part at its spots: the four corners, or the car."""

    sort: str
    name: str
    places: list[FittedPlace] = field(default_factory=list)

    @property
    def has_parts(self) -> bool:
        """The team keeps parts of this sort."""
        return bool(self.places and self.places[0].choices)


def fitted_view(sheet: Sheet, viewer: User, step: str = "") -> list[SortView]:
    """The spots with their parts, those of one step or all; nothing for who may not see codes.

    Three queries.
    """
    sorts = STEPS.get(step, ()) if step else tuple(Part.Sort)
    if not sorts or not roles_of(viewer).may_see_codes(sheet.team_id):
        return []
    known, fitted = parts_by_code(sheet, sorts), parts_on(sheet)
    by_id = {part.pk: part for part in known}
    views = []
    for sort in sorts:
        choices = [part for part in known if part.sort == sort]
        view = SortView(sort, Part.Sort(sort).label)
        for spot in sort.spots:
            part_id = fitted.get((sort, spot))
            view.places.append(
                FittedPlace(sort, spot, choices, by_id.get(part_id) if part_id else None)
            )
        views.append(view)
    _compare_rates(views, sheet, viewer)
    return views


def _compare_rates(views: list[SortView], sheet: Sheet, viewer: User) -> None:
    """A rate typed by hand wins; where it is not the part's, that is said."""
    springs = [p for v in views for p in v.places if p.fitted and p.fitted.rate is not None]
    if not springs:
        return
    read, units = spring_rates_read(sheet), viewer.units(sheet.team.club.units())
    for place in springs:
        row = read.get(place.spot)
        if row is not None and row.value is not None and place.fitted is not None:
            place.differs = _differs(row.value, place.fitted, row.measure, units)


def _differs(value: Decimal, part: Part, measure: Measure, units: Units) -> str:
    if part.rate is None or value == part.rate:
        return ""
    typed = format_figure(value, measure, units)
    return f"{typed} is typed on the sheet; the part says {part.rate_typed}."
