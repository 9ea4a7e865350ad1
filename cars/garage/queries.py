"""The cars somebody sees, each with the figures of its latest sheet and what is open on it."""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field
from uuid import UUID

from cars.bench.queries.open_benches import (
    OpenBench,
    benches_to_go_on_with,
    changes_by_sheet,
    readings_by_sheet,
)
from cars.catalogue.keys import Key
from cars.catalogue.queries import cached_catalogue
from cars.catalogue.staleness import stale_readings
from cars.figures.derived import Figure, add_derived, figures_of
from cars.models import Car, Sheet
from cars.plans.queries.class_limits import ClassLimit, class_limits
from cars.sheets.queries.closed_figures import TakenFigure
from cars.sheets.queries.sheets import latest_sheets
from clubsetup.access.models import User
from teams.models import Team
from teams.queries.roles import roles_of

# What the figures that say most about a car are computed from.
NEEDED = ("weight", "wheelbase")


@dataclass(slots=True)
class CarLine:
    """A car with its latest sheet, if it has one, what that says, and what its class asks for."""

    car: Car
    may_write: bool  # sheets of it
    sheet: Sheet | None = None
    figures: Mapping[Key, Figure] = field(default_factory=dict)
    again: Collection[Key] = ()  # figures that are to be taken again
    open_benches: list[OpenBench] = field(default_factory=list)
    limit: ClassLimit | None = None

    @property
    def bench(self) -> OpenBench | None:
        """The one opened last."""
        return self.open_benches[0] if self.open_benches else None

    def figure(self, measure: str) -> Figure | None:
        """A figure of the whole car that still says how it stands."""
        key = Key(measure, "car")
        return None if key in self.again else self.figures.get(key)


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
    by_id = {team.pk: team for team in teams}
    cars = list(Car.objects.filter(team__in=teams).select_related("chassis", "race_class"))
    for car in cars:
        car.team = by_id[car.team_id]
    lines = car_lines(cars, viewer)
    return [
        TeamCars(
            team,
            [line for line in lines if line.car.team_id == team.pk],
            may_crew=roles.is_crew(team.pk),
            may_see_parts=roles.may_see_codes(team.pk),
        )
        for team in teams
    ]


def car_lines(cars: Sequence[Car], viewer: User) -> list[CarLine]:
    """Each car with what its latest sheet says and what is open on it; queries do not grow."""
    roles = roles_of(viewer)
    latest, benches = latest_sheets(cars), benches_to_go_on_with(cars)
    limits = class_limits(cars) if cars else {}
    said = _said_by(latest.values(), benches)
    lines = []
    for car in cars:
        sheet = latest.get(car.pk)
        figures, again = said[sheet.pk] if sheet else ({}, ())
        lines.append(
            CarLine(
                car=car,
                may_write=roles.may_write_sheets(car.team_id),
                sheet=sheet,
                figures=figures,
                again=again,
                open_benches=[each for each in benches if each.sheet.car_id == car.pk],
                limit=limits.get(car.pk),
            )
        )
    return lines


Said = tuple[Mapping[Key, Figure], Collection[Key]]


def _said_by(sheets: Collection[Sheet], benches: Sequence[OpenBench]) -> dict[UUID, Said]:
    """What each sheet says, and what of it is to be taken again."""
    said: dict[UUID, Said] = {
        each.sheet.pk: (_figures(each.readings), each.causes.keys()) for each in benches
    }
    others = [sheet for sheet in sheets if sheet.pk not in said]
    readings, changes = readings_by_sheet(others, *NEEDED), changes_by_sheet(others)
    known = cached_catalogue()
    for sheet in others:
        rows = readings[sheet.pk]
        said[sheet.pk] = _figures(rows), stale_readings(rows, changes[sheet.pk], known).keys()
    return said


def _figures(readings: Sequence[TakenFigure]) -> dict[Key, Figure]:
    return add_derived(figures_of([row for row in readings if row.measure_id in NEEDED]))
