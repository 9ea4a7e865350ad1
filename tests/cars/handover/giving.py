"""A car of the Wrens with a season behind it, and a team of another club that gets it."""

from dataclasses import dataclass
from datetime import date
from typing import Any

from cars.baselines.actions.chassis import add_chassis
from cars.garage.actions.parts import add_part
from cars.handover.actions.handovers import offer_car, take_car
from cars.models import Chassis, Handover, Sheet
from cars.sheets.actions.comments import add_comment
from cars.sheets.actions.conflicts import OVER_ANYTHING
from cars.sheets.actions.parts_fitted import fit_part
from cars.sheets.actions.readings import take_typed
from cars.sheets.actions.sheets import close_sheet, open_sheet
from clubsetup.access.models import User
from clubsetup.access.viewer import viewing_as
from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.reading import parse
from teams.actions.drivers import add_driver, log_driver_weight
from teams.actions.places import add_track
from teams.actions.teams import make_team
from teams.models import Driver, Team
from tests.cars.garage import GEOMETRY, Garage
from tests.people import People, join, person

DAY = date(2026, 3, 14)
# Words that nobody else in the tests writes.
NAME, CODE = "Pipistrelle", "ochre-3-stripes"
NOTE = f"{NAME} was tired after the second heat"
COMMENT = f"Ask {NAME} about the wheel"
WORDS = f"hole 2, {NAME} asked for it"
DRIVER_LB = 83.0
READ = {
    "ride-height.LF": "2 5/16",
    "pressure.LF": "9.5",
    "weight.LF": "72.5",
    "weight.RF": "66.0",
    "weight.LR": "96.5",
    "weight.RR": "78.0",
    "ballast-total.car": "11.73",
    "rear-rod-holes.left": WORDS,
}


@dataclass
class Giving:
    """Who gives, who gets, and what was written before."""

    garage: Garage
    driver: Driver
    found: Sheet
    set: Sheet
    receiver: User
    to_team: Team
    to_chassis: Chassis

    def offer(self, by: User, history: str = "all", ticked: Any = ()) -> tuple[Handover, str]:
        with viewing_as(by.pk):
            return offer_car(by=by, car=self.garage.car, history=history, ticked=ticked)

    def take(self, code: str, **given: Any) -> Handover:
        chosen = {"team": self.to_team, "number": "41", "chassis": self.to_chassis, **given}
        with viewing_as(self.receiver.pk):
            return take_car(by=self.receiver, code=code, **chosen)


def make_giving(people: People, garage: Garage) -> Giving:
    """Two closed sheets with everything on them that must not go along unasked."""
    chief = people.chief
    with viewing_as(people.steward.pk):
        track = add_track(
            by=people.steward, club=people.club, name="Fernbank Oval", surface="paved"
        )
    with viewing_as(chief.pk):
        driver = add_driver(by=chief, team=people.team, display_name=NAME)
        log_driver_weight(
            by=chief, driver=driver, weighed_on=DAY, mass=parse(f"{DRIVER_LB} lb", Kind.MASS)
        )
        spring = add_part(by=chief, team=people.team, sort="spring", code=CODE)
        head: dict[str, Any] = {
            "car": garage.car,
            "made_on": DAY,
            "surface": "paved",
            "driver": driver,
        }
        found = open_sheet(by=chief, role="found", track=track, **head)
        take_typed(by=chief, sheet=found, typed={"ride-height.LF": "2 1/4"})
        found = close_sheet(by=chief, sheet=found)
        made = open_sheet(by=chief, role="set", track=track, note=NOTE, **head)
        take_typed(by=chief, sheet=made, typed=READ)
        fit_part(by=chief, sheet=made, part=spring, sort="spring", spot="LF", seen=OVER_ANYTHING)
        add_comment(by=chief, sheet=made, text=COMMENT)
        made = close_sheet(by=chief, sheet=made)
    receiver = person("far chief")
    other = people.other_steward
    with viewing_as(other.pk):
        team = make_team(by=other, club=people.other_club, name="Larks")
        chassis = add_chassis(
            by=other, club=people.other_club, name="Osprey as Marl Heath has it", geometry=GEOMETRY
        )
    join(other, receiver, people.other_club, "chief", team)
    return Giving(garage, driver, found, made, receiver, team, chassis)
