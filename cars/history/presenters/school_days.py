"""A plan for a school day as it is read: an outing a line, and a page a car."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from uuid import UUID

from cars.baselines.queries.baseline_view import BaselineView, baseline_view
from cars.bench.presenters.car_sections import CarSection
from cars.history.queries.school_days import coming_outings
from cars.lookups import find_sheet
from cars.models import Car, Outing, SchoolDay, Sheet, Step
from cars.sheets.presenters.figure_table import Group, figure_table
from cars.sheets.presenters.sheet_view import sheet_view
from clubsetup.access.models import User
from clubsetup.clock.writing import day
from teams.queries.clocks import today_of

AS_IT_STANDS = "as it stands"
NO_DRIVER = "no driver named"


@dataclass(frozen=True, slots=True)
class OutingLine:
    """'3: car 17, Ash Lane, Juno drives, as set 5 Nov at Pine Loop'. `is_gone`: the car is another
    team's by now."""

    outing: Outing
    driver: str
    setting: str
    is_gone: bool

    @property
    def is_own_sheet(self) -> bool:
        """Whether the way to that sheet can be worked out from how the car stands."""
        sheet = self.outing.sheet
        if sheet is None or self.is_gone:
            return False
        return sheet.car_id == self.outing.car_id and sheet.role == Sheet.Role.SET


def outing_lines(outings: Sequence[Outing]) -> list[OutingLine]:
    """As the plan has them."""
    return [
        OutingLine(
            outing,
            str(outing.driver) if outing.driver else NO_DRIVER,
            setting_name(outing),
            is_gone=outing.car.team_id != outing.team_id,
        )
        for outing in outings
    ]


def setting_name(outing: Outing) -> str:
    """What the car is set to, in words."""
    if outing.sheet is not None:
        return sheet_name(outing.sheet, outing.car_id)
    if outing.baseline is not None:
        return f"baseline {outing.baseline}"
    return AS_IT_STANDS


def sheet_name(sheet: Sheet, car: UUID) -> str:
    """'as set 5 Nov 2026, Pine Loop'; of another car of the team with its number first."""
    role = "target sheet of" if sheet.role == Sheet.Role.TARGET else "as set"
    track = f", {sheet.track}" if sheet.track else ""
    whose = f"car {sheet.car.number}, " if sheet.car_id != car else ""
    return f"{whose}{role} {day(sheet.made_on)}{track}"


@dataclass(frozen=True, slots=True)
class Setting:
    """The figures that a car is set to for some of its outings."""

    name: str
    orders: str  # 'Outings 1 and 7'
    groups: list[Group]
    targets: BaselineView | None


@dataclass(frozen=True, slots=True)
class CarPage:
    """One car's day on a page of its own."""

    car: Car
    lines: list[OutingLine]
    settings: list[Setting]


def car_pages(outings: Sequence[Outing], viewer: User) -> list[CarPage]:
    """A page a car, in the order in which they first go out."""
    lines = outing_lines(outings)
    cars = {line.outing.car_id: line.outing.car for line in lines}
    by_car = {pk: [line for line in lines if line.outing.car_id == pk] for pk in cars}
    return [CarPage(car, by_car[pk], _settings(by_car[pk], viewer)) for pk, car in cars.items()]


def _settings(lines: Sequence[OutingLine], viewer: User) -> list[Setting]:
    """Each sheet and each baseline once."""
    at: dict[tuple[UUID | None, UUID | None], list[Outing]] = {}
    for line in lines:
        outing = line.outing
        if outing.sheet or outing.baseline:
            at.setdefault((outing.sheet_id, outing.baseline_id), []).append(outing)
    return [_setting(outings, viewer) for outings in at.values()]


def _setting(outings: Sequence[Outing], viewer: User) -> Setting:
    first = outings[0]
    name, orders = setting_name(first), _orders([outing.order for outing in outings])
    if first.sheet_id is not None:
        sheet = find_sheet(first.sheet_id)
        groups = figure_table(sheet_view(sheet, viewer)) if sheet else []
        return Setting(name, orders, [_as_set(group) for group in groups], None)
    if first.baseline is None:
        return Setting(name, orders, [], None)
    return Setting(name, orders, [], baseline_view(first.baseline, viewer))


def _as_set(group: Group) -> Group:
    """What the car is to be set to; what it was found with that day says nothing of it."""
    rows = [
        replace(row, cells=tuple(replace(cell, found="") for cell in row.cells))
        for row in group.rows
    ]
    return replace(group, rows=rows)


def _orders(numbers: Sequence[int]) -> str:
    """'Outing 3', 'Outings 1, 4 and 7'."""
    *others, last = map(str, numbers)
    return f"Outings {', '.join(others)} and {last}" if others else f"Outing {last}"


@dataclass(frozen=True, slots=True)
class ComingLine:
    """One day to come on a car's page."""

    school_day: SchoolDay
    says: str
    is_draft: bool


def coming_school_days(car: UUID, team: UUID, viewer: User, step: Step | None) -> CarSection | None:
    """When the car goes out with a school; not at the bench, where the hands are busy."""
    if step is not None:
        return None
    by_day: dict[UUID, list[Outing]] = {}
    for outing in coming_outings(car, team, today_of(viewer)):
        by_day.setdefault(outing.school_day_id, []).append(outing)
    if not by_day:
        return None
    return CarSection("cars/history/_school_days.html", [_coming(each) for each in by_day.values()])


def _coming(outings: Sequence[Outing]) -> ComingLine:
    drives = [f"{each.driver or NO_DRIVER}, {setting_name(each)}" for each in outings]
    says = f"{_orders([each.order for each in outings])}: {'; '.join(dict.fromkeys(drives))}."
    school_day = outings[0].school_day
    return ComingLine(school_day, says, is_draft=school_day.shown_at is None)


def day_title(school_day: SchoolDay) -> str:
    """'Sat, 12 Dec 2026, Pine Loop'."""
    track = f", {school_day.track}" if school_day.track else ""
    return f"{day(school_day.day)}{track}"


def is_over(school_day: SchoolDay, today: date) -> bool:
    """Whether the day is past."""
    return school_day.day < today
