"""Cars of one chassis, of teams that let the coach in, each with a closed sheet as set."""

from datetime import date

from cars.garage.actions.cars import add_car
from cars.models import Car, Sheet
from cars.sheets.actions.readings import take_typed
from cars.sheets.actions.sheets import close_sheet, open_sheet
from clubsetup.access.models import User
from clubsetup.access.viewer import viewing_as
from teams.actions.teams import link_coach
from tests.cars.garage import Garage
from tests.people import People

DAY = date(2026, 3, 14)


def set_sheet(by: User, car: Car, typed: dict[str, str], day: date = DAY) -> Sheet:
    """Read and closed."""
    with viewing_as(by.pk):
        sheet = open_sheet(by=by, car=car, role="set", made_on=day, surface="paved")
        take_typed(by=by, sheet=sheet, typed=typed)
        return close_sheet(by=by, sheet=sheet)


def rivals_car(people: People, garage: Garage, number: str) -> Car:
    """A car of the Kestrels."""
    with viewing_as(people.rival.pk):
        return add_car(
            by=people.rival, team=people.rival_team, number=number, chassis=garage.chassis
        )


def fleet(people: People, garage: Garage, heights: list[str], day: date = DAY) -> list[Car]:
    """The Wrens' car and so many of the Kestrels that each height is of one of them."""
    with viewing_as(people.rival.pk):
        link_coach(by=people.rival, team=people.rival_team, coach=people.coach)
    cars = [garage.car]
    set_sheet(people.chief, garage.car, {"ride-height.RF": heights[0]}, day)
    for place, height in enumerate(heights[1:]):
        car = rivals_car(people, garage, str(20 + place))
        set_sheet(people.rival, car, {"ride-height.RF": height}, day)
        cars.append(car)
    return cars
