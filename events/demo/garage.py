"""The club's chassis and baselines, the teams' cars, parts and two seasons of sheets."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from typing import Any, NamedTuple

from cars.baselines.actions.baselines import (
    Target,
    draft_baseline,
    publish_baseline,
    set_baseline_values,
)
from cars.baselines.actions.chassis import add_chassis
from cars.baselines.actions.mounts import add_mount
from cars.garage.actions.ballast import add_ballast_piece
from cars.garage.actions.cars import add_car
from cars.garage.actions.parts import add_part
from cars.history.actions.advice import leave_advice
from cars.models import Advice, BallastMount, Baseline, Car, Chassis, Measure, Sheet
from cars.sheets.actions.comments import add_comment
from cars.sheets.actions.readings import take_typed
from cars.sheets.actions.sheets import close_sheet, open_sheet
from clubsetup.access.models import User
from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.reading import parse
from events.demo.cast import Cast
from events.demo.figures import Box, DemoCar, DemoTarget, demo_target
from events.demo.parts import DemoParts
from events.demo.track_days import Turned
from teams.models import Club, Driver, RaceClass, Surface, Team, Track

Rows = dict[Box, list[str]]
EMPTY_MASS = {"Starter": 95.0, "Junior": 104.5, "Senior": 106.0}
ON_THE_SHELF = ("3.0 lb", "1.5 lb")
SOURCES = {"m": "maker", "c": "club"}
CORNERS = ("LF", "RF", "LR", "RR")
DRAWN = {
    f"{measure}.{spot}"
    for measure in ("pressure", "circumference", "ride-height", "weight", "wheelbase")
    for spot in (*CORNERS, "left", "right")
}
REMARK = (
    "Left rear comes back an eighth low every time. "
    "Look at the lower rod's end before you turn it up again."
)


ADVICE = "Bring the right front up a little before anything else, and weigh it again."
ASKED = "How old is the right rear tyre? It may have grown."
ANSWERED = "Two seasons. We measure it again on Friday."


def _box(name: str) -> Box:
    measure, _, spot = name.partition(".")
    return measure, spot


@dataclass(frozen=True)
class Runner:
    """A car with its driver and the driver's weight in kg, and the key of its chief."""

    car: Car
    driver: Driver
    driver_mass: float
    chief: str


class WeekendDay(NamedTuple):
    """The day on which a car is found, the track it raced at and the one it is set for.

    `stands`: what was changed at the track since it was set, and not put back.
    """

    day: date
    raced_at: Track
    set_for: Track
    stands: Sequence[Turned] = ()


class Garage:
    """Builds everything about cars; `today` is the first day of the event under way."""

    def __init__(self, cast: Cast, club: Club, targets: dict[str, Any], today: date) -> None:
        self.cast, self.club, self.today = cast, club, today
        self.measures: Mapping[str, Measure] = Measure.objects.in_bulk()
        self.targets = {key: self._rows(targets, key) for key in targets if key != "note"}
        self.chassis: dict[str, Chassis] = {}
        self.lines: dict[str, str] = {}
        self.baselines: dict[tuple[str, str], Baseline] = {}

    def _rows(self, targets: dict[str, Any], key: str) -> Rows:
        given = targets[key]
        if isinstance(given, list):
            return {(row[0], row[1]): row for row in given}
        instead = {(row[0], row[1]): row for row in given["instead"]}
        return {**self._rows(targets, given["like"]), **instead}

    def add_chassis(self, by: User, given: dict[str, Any]) -> None:
        """A chassis with its mounts and its published baselines, paved and dirt."""
        chassis = add_chassis(
            by=by,
            club=self.club,
            name=given["name"],
            geometry=given["geometry"],
            note=given["note"],
        )
        for mount in given["mounts"]:
            add_mount(
                by=by,
                chassis=chassis,
                name=mount["name"],
                x=parse(mount["x"], Kind.LENGTH),
                y=parse(mount["y"], Kind.LENGTH),
                capacity=parse(mount["capacity"], Kind.MASS),
            )
        self.chassis[chassis.name], self.lines[chassis.name] = chassis, given["baseline"]
        for surface, line in ((Surface.PAVED, given["baseline"]), (Surface.DIRT, "dirt")):
            self.baselines[chassis.name, surface] = self._publish(by, chassis, surface, line)

    def _publish(self, by: User, chassis: Chassis, surface: str, line: str) -> Baseline:
        baseline = draft_baseline(
            by=by, chassis=chassis, surface=surface, note="First version, from the spring meeting."
        )
        rows = self.targets[line].values()
        set_baseline_values(by=by, baseline=baseline, targets=[self._target(row) for row in rows])
        return publish_baseline(by=by, baseline=baseline)

    def _target(self, row: list[str]) -> Target:
        measure = self.measures[row[0]]
        kind = Kind(measure.kind)
        note = "sheet 2 of the owner's manual" if row[4] == "m" else "two seasons at Alder Hollow"
        return Target(
            measure=measure,
            spot=row[1],
            target=parse(row[2], kind),
            tolerance=parse(row[3], kind),
            source=SOURCES[row[4]],
            source_note=note,
        )

    def read_targets(self, chassis: str, surface: str) -> dict[Box, DemoTarget]:
        """The boxes that are read, with their targets; derived ones follow from them."""
        line = self.lines[chassis] if surface == Surface.PAVED else "dirt"
        return {
            box: demo_target(
                Kind(self.measures[box[0]].kind),
                row[2],
                row[3],
                self.measures[box[0]].tool_resolution or Decimal(1),
            )
            for box, row in self.targets[line].items()
            if self.measures[box[0]].taken == "quantity"
        }

    def add_car(
        self,
        by: User,
        team: Team,
        given: dict[str, Any],
        race_class: RaceClass,
        since: date,
    ) -> Car:
        """A car with its ballast pieces."""
        chassis = self.chassis[given["chassis"]]
        car = add_car(
            by=by,
            team=team,
            number=given["number"],
            name=given["name"],
            chassis=chassis,
            race_class=race_class,
            baseline=self.baselines[chassis.name, Surface.PAVED],
            since=since,
        )
        mounts = list(BallastMount.objects.filter(chassis=chassis).order_by("name"))
        for mount, mass in zip(mounts, ("12.0 lb", "8.0 lb"), strict=False):
            self._add_piece(by, car, mass, car=car, mount=mount)
        for mass in ON_THE_SHELF:
            self._add_piece(by, car, mass)
        return car

    def _add_piece(self, by: User, of: Car, mass: str, **where: Any) -> None:
        marked = parse(mass, Kind.MASS)
        add_ballast_piece(by=by, team=of.team, label=of.number, marked_mass=marked, **where)

    def add_parts(self, by: User, team: Team, parts: list[dict[str, Any]]) -> None:
        """The team's springs, dampers and tyres under its own codes."""
        for part in parts:
            rate = parse(part["rate"], Kind.SPRING_RATE) if "rate" in part else None
            add_part(
                by=by, team=team, sort=part["sort"], code=part["code"], note=part["note"], rate=rate
            )

    def season(
        self, runner: Runner, weekends: list[WeekendDay], parts: DemoParts | None = None
    ) -> None:
        """As found and as set every weekend, each based on the one before; one open tonight."""
        car, by = runner.car, self.cast[runner.chief]
        handled = DemoCar(
            self.read_targets(car.chassis.name, Surface.PAVED),
            EMPTY_MASS[str(car.race_class)],
            f"{car.number} {car.chassis.name}",
        )
        last: Sheet | None = None
        for number, (day, raced_at, set_for, stands) in enumerate(weekends):
            handled.targets = self.read_targets(car.chassis.name, raced_at.surface)
            handled.race()
            for turned in stands:
                handled.stand_changed(*turned.place, turned.amount, turned.unit)
            found = self._open(runner, raced_at, "found", day, last)
            if parts is not None:
                parts.carry(by, last, found, stands)
            skip = handled.random.randint(0, 4)
            self._take(by, found, handled.readings(runner.driver_mass, skip=skip))
            handled.targets = self.read_targets(car.chassis.name, set_for.surface)
            handled.set_up()
            last = self._open(runner, set_for, "set", day + timedelta(days=2), found)
            if parts is not None:
                parts.carry(by, found, last)
                parts.fit(by, last, number)
            self._take(by, last, handled.readings(runner.driver_mass))
        track = weekends[0].raced_at
        handled.targets = self.read_targets(car.chassis.name, track.surface)
        handled.race()
        tonight = self._open(runner, track, "found", self.today, last)
        if parts is not None:
            parts.carry(by, last, tonight)
        typed = handled.readings(runner.driver_mass)
        # Some boxes are still empty, but the drawing of the car has its figures.
        half = {box: text for n, (box, text) in enumerate(typed.items()) if n % 4 or box in DRAWN}
        take_typed(by=by, sheet=tonight, typed=half, measures=dict(self.measures))

    def _open(
        self, runner: Runner, track: Track, role: str, day: date, based_on: Sheet | None
    ) -> Sheet:
        return open_sheet(
            by=self.cast[runner.chief],
            car=runner.car,
            role=role,
            made_on=day,
            driver=runner.driver,
            track=track,
            baseline=self.baselines[runner.car.chassis.name, track.surface],
            based_on=based_on,
            fuel=parse("0.3 gal", Kind.VOLUME),
        )

    def _take(self, by: User, sheet: Sheet, typed: dict[str, str]) -> None:
        take_typed(by=by, sheet=sheet, typed=typed, measures=dict(self.measures))
        close_sheet(by=by, sheet=sheet)

    def set_once(self, runner: Runner, track: Track, day: date, off: Mapping[str, int]) -> None:
        """One closed sheet as set, some boxes so many steps of the tool off their targets."""
        car = runner.car
        handled = DemoCar(
            self.read_targets(car.chassis.name, track.surface),
            EMPTY_MASS[str(car.race_class)],
            f"{car.number} {car.chassis.name}",
        )
        handled.off = {_box(name): steps for name, steps in off.items()}
        sheet = self._open(runner, track, "set", day, None)
        self._take(self.cast[runner.chief], sheet, handled.readings(runner.driver_mass))

    def advise_on(self, by: User, car: Car, given: Mapping[str, Any]) -> Advice:
        """What a coach would like to see in one box."""
        slug, spot = _box(given["box"])
        measure = self.measures[slug]
        wanted = parse(given["wanted"], Kind(measure.kind))
        return leave_advice(
            by=by, car=car, text=given["text"], measure=measure, spot=spot, wanted=wanted
        )

    def remark(self, by: User, car: Car) -> None:
        """What a coach leaves on the last closed sheet."""
        sheet = Sheet.objects.filter(car=car, state="closed").order_by("-made_on").first()
        if sheet is not None:
            add_comment(by=by, sheet=sheet, text=REMARK)

    def advise(self, by: User, car: Car) -> Advice:
        """Two things a coach leaves on a car; the second, which the chief then answers."""
        height = self.measures["ride-height"]
        wanted = parse("2 1/2 in", Kind.LENGTH)
        leave_advice(by=by, car=car, text=ADVICE, measure=height, spot="RF", wanted=wanted)
        tyre = self.measures["circumference"]
        return leave_advice(by=by, car=car, text=ASKED, measure=tyre, spot="RR")
