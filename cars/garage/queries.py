"""The cars somebody sees, each with the figures of its latest sheet."""

from dataclasses import dataclass, field
from uuid import UUID

from cars.bench.queries.open_benches import OpenBench, benches_to_go_on_with
from cars.catalogue.keys import Key
from cars.figures.derived import add_derived, figures_of
from cars.figures.formatting import format_figure
from cars.models import Car, Measure, Reading, Sheet
from cars.sheets.queries.sheets import latest_sheets
from clubsetup.access.models import User
from teams.models import Team
from teams.queries.roles import roles_of

# What says most about a car in one line.
MEASURES_SHOWN = ("cross", "left-share", "rear-share", "total-weight", "lead")
NEEDED = ("weight", "wheelbase")


@dataclass(slots=True)
class CarLine:
    """A car with its latest sheet, if it has one, and what that says."""

    car: Car
    sheet: Sheet | None
    figures_shown: list[tuple[str, str]]
    open_benches: list[OpenBench] = field(default_factory=list)


@dataclass(slots=True)
class TeamCars:
    """A team's cars."""

    team: Team
    lines: list[CarLine]
    may_crew: bool
    may_see_parts: bool


def my_cars(viewer: User, only: set[UUID] | None = None) -> list[TeamCars]:
    """The cars of the viewer's own teams and of those they coach (or `only` these), by team.

    As many queries for one car as for thirty.
    """
    roles = roles_of(viewer)
    wanted = {*roles.teams, *roles.coached} if only is None else only
    teams = list(Team.objects.filter(pk__in=wanted).select_related("club"))
    cars = Car.objects.filter(team__in=teams).select_related("chassis", "race_class", "team__club")
    lines = car_lines(list(cars), viewer)
    return [
        TeamCars(
            team,
            [line for line in lines if line.car.team_id == team.pk],
            may_crew=roles.is_crew(team.pk),
            may_see_parts=roles.may_see_codes(team.pk),
        )
        for team in teams
    ]


def car_lines(cars: list[Car], viewer: User) -> list[CarLine]:
    """Each car with what its latest sheet says and the benches open on it; queries do not grow."""
    latest = latest_sheets(cars)
    rows = Reading.objects.current().filter(sheet__in=latest.values(), measure__in=NEEDED)
    by_sheet: dict[UUID, list[Reading]] = {}
    for row in rows:
        by_sheet.setdefault(row.sheet_id, []).append(row)
    measures = Measure.objects.in_bulk(MEASURES_SHOWN)
    lines = [_line(car, latest.get(car.pk), by_sheet, measures, viewer) for car in cars]
    benches = benches_to_go_on_with(cars)
    for line in lines:
        line.open_benches = [each for each in benches if each.sheet.car_id == line.car.pk]
    return lines


def _line(
    car: Car,
    sheet: Sheet | None,
    readings: dict[UUID, list[Reading]],
    measures: dict[str, Measure],
    viewer: User,
) -> CarLine:
    if sheet is None:
        return CarLine(car, None, [])
    figures = add_derived(figures_of(readings.get(sheet.pk, [])))
    units = viewer.units(car.team.club.units())
    figures_shown = [
        (measures[slug].name, format_figure(figures[key].value, measures[slug], units))
        for slug in MEASURES_SHOWN
        for key in [Key(slug, "car")]
        if key in figures
    ]
    return CarLine(car, sheet, figures_shown)
