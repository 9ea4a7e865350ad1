"""A car of the Wrens with a season behind it, and a team of another club that gets it."""

from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from typing import Any

from cars.baselines.actions.chassis import add_chassis
from cars.baselines.actions.own_targets import set_own_target
from cars.garage.actions.ballast import add_ballast_piece
from cars.garage.actions.parts import add_part
from cars.handover.actions.handovers import offer_car, take_car
from cars.models import Chassis, Handover, Laps, Measure, Plan, Run, Sheet
from cars.runs.actions.runs import FeelSaid, RunFacts, TimedLaps, note_run
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
from tests.cars.garage import GEOMETRY, Garage, typed
from tests.people import People, join, person

DAY = date(2026, 3, 14)
# Words that nobody else in the tests writes.
NAME, CODE = "Pipistrelle", "ochre-3-stripes"
NOTE = f"{NAME} was tired after the second heat"
COMMENT = f"Ask {NAME} about the wheel"
WORDS = f"hole 2, {NAME} asked for it"
RUN_NOTE = f"{NAME} lifted before the corner"
DAMAGE = f"{NAME} met the wall"
REASON = f"{NAME} likes it low there"
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
    run: Run
    plan: Plan

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
        plan = Plan.objects.create(
            sheet=made,
            team=people.team,
            by=chief,
            accepted_at=datetime(2026, 3, 14, 9, tzinfo=people.club.zone()),
            turns=[Decimal(turn) for turn in ("0.5", "-0.5", "0", "0")],
            started_from=[],
            geometry={},
            learned=0,
            # kg, as the scales below read them in pounds.
            loads_before=[32.9, 29.9, 43.8, 35.4],
            loads=[33.6, 29.2, 43.1, 36.1],
            u_loads=[0.3] * 4,
            cross_before=0.519,
            cross=0.509,
            u_cross=0.001,
        )
        made = close_sheet(by=chief, sheet=made)
        run = note_run(
            by=chief,
            car=garage.car,
            facts=RunFacts(
                kind="heat",
                driver=driver,
                track=track,
                note=RUN_NOTE,
                damage=DAMAGE,
                damage_spots=["RF"],
            ),
            said=FeelSaid(entry="pushes"),
            seen=FeelSaid(exit="loose"),
            laps=TimedLaps([Decimal("7.412"), Decimal("7.523")], ["", ""], Laps.TimedBy.HAND),
            ran_at=datetime(2026, 3, 15, 14, 20, tzinfo=people.club.zone()),
        )
        for box, target in (("ride-height", "2 1/8"), ("cross", "53.5")):
            measure = Measure.objects.get(pk=box)
            set_own_target(
                by=chief,
                car=garage.car,
                measure=measure,
                spot="LF" if box == "ride-height" else "car",
                target=typed(measure, target),
                tolerance=typed(measure, "1/16" if box == "ride-height" else "0.5"),
                reason=REASON,
            )
        add_ballast_piece(
            by=chief,
            team=people.team,
            label="7",
            marked_mass=parse("7.31 lb", Kind.MASS),
            car=garage.car,
        )
    receiver = person("far chief")
    other = people.other_steward
    with viewing_as(other.pk):
        team = make_team(by=other, club=people.other_club, name="Larks")
        chassis = add_chassis(
            by=other, club=people.other_club, name="Osprey as Marl Heath has it", geometry=GEOMETRY
        )
    join(other, receiver, people.other_club, "chief", team)
    return Giving(garage, driver, found, made, receiver, team, chassis, run, plan)
