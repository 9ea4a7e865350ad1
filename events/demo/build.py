"""The whole demo, in order, from fixtures/demo."""

import json
from datetime import date, timedelta
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from django.conf import settings
from django.db import transaction
from django.db.models.functions import Length
from django.utils import timezone

from cars.garage.actions.cars import add_car
from cars.handover.actions.handovers import offer_car, take_car
from cars.history.actions.advice import reply_to_advice, tick_off_advice
from cars.history.actions.school_days import plan_school_day, show_school_day
from cars.models import Car, Chassis
from cars.sheets.actions.readings import take_typed
from cars.sheets.actions.sheets import close_sheet, open_sheet
from clubsetup.access.models import User
from clubsetup.access.viewer import viewing_as
from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.reading import parse
from events.demo.cast import Cast
from events.demo.driving import Driving
from events.demo.garage import ANSWERED, Garage, Runner, WeekendDay
from events.demo.meetings import Meetings
from events.demo.parts import DemoParts, add_limits
from events.demo.seasons import Seasons
from events.demo.suggestions import publish_own, publish_starter
from events.demo.track_days import calendar
from events.demo.truth import Truth, truth_of
from teams.actions.clubs import found_club
from teams.actions.drivers import add_driver, log_driver_weight, set_birth_date
from teams.actions.places import add_track
from teams.actions.teams import link_coach, make_team
from teams.models import Club, Driver, Team, Track

# Months ago, and pounds less than now: what the log has of every driver.
WEIGHED = ((12, 6), (10, 4.6), (8, 4.2), (6, 3.1), (4, 2.2), (2, 0.8), (0, 0))
# A car that went from one family to another, and what its sheet said.
HANDED_ON = "58"
HANDED_ON_READ = {
    **{"pressure.LF": "9", "pressure.RF": "11", "pressure.LR": "8", "pressure.RR": "12"},
    **{"ride-height.LF": "2 1/4", "ride-height.RF": "2 3/8"},
    **{"ride-height.LR": "2 1/4", "ride-height.RR": "2 1/2"},
}
FIXTURES = Path(settings.BASE_DIR) / "fixtures" / "demo"


def load(name: str) -> dict[str, Any]:
    """One of the demo's fixtures."""
    with (FIXTURES / name).open() as file:
        fixture: dict[str, Any] = json.load(file)
    return fixture


def sign_ins() -> list[tuple[str, str, str]]:
    """(e-mail, what they are, password) of the people worth trying."""
    given = load("club.json")
    parts = {
        "isa": "chief of the team Wrenfield",
        "jonah": "crew of the team Wrenfield",
        "nan": "guest of the team Wrenfield",
        "bo": "chief of the team Tinder Box",
        "ruben": "coach of six teams",
        "ossian": "official",
        "maren": "steward",
        "wim": "steward of another club",
    }
    return [(f"{key}@alder-hollow.example", part, given["password"]) for key, part in parts.items()]


def build_demo(*, with_runs: bool = True) -> bool:
    """Makes the demo club, all or nothing; False where it is there already.

    `with_runs`: the seasons at the track too, and the sheets between them.
    """
    given = load("club.json")
    cast = Cast(given["people"], given["password"])
    with viewing_as(cast["maren"].pk):
        if Club.objects.filter(short_name=given["club"]["short_name"]).exists():
            return False
    with transaction.atomic():
        today = timezone.localdate(timezone=ZoneInfo(given["club"]["time_zone"]))
        truth = truth_of(load("runs.json")) if with_runs else None
        Demo(given, cast, today, truth).build()
    return True


class Demo:
    """Builds it; `today` is the first day of the meeting under way. Without a truth nobody runs."""

    def __init__(self, given: dict[str, Any], cast: Cast, today: date, truth: Truth | None) -> None:
        self.given, self.cast, self.today, self.truth = given, cast, today, truth
        self.tracks: list[Track] = []
        self.runners: list[Runner] = []
        self.advised = False

    def build(self) -> None:
        """Everything, in the order in which a club would."""
        with self.cast.acting("maren") as by:
            self.club = found_club(by=by, **self.given["club"])
        with self.cast.acting("wim") as by:
            found_club(by=by, **self.given["other_club"])
        for person in self.given["people"]:
            if person.get("club", "steward") != "steward":
                self.cast.join("maren", person["key"], self.club, person["club"])
        self.garage = Garage(self.cast, self.club, load("baselines.json"), self.today)
        self.meetings = Meetings(self.cast, self.club, self.given, self.today)
        self._club_things()
        for team in self.given["teams"]:
            self._team(team)
        for team in self.given["school"]:
            self._team(team)
        self._plan_school_day()
        self._suggest()
        self._hand_over()
        self._meet()
        if self.truth is not None:
            self._run(self.truth)

    def _run(self, truth: Truth) -> None:
        zone = ZoneInfo(self.given["club"]["time_zone"])
        seasons = Seasons(self.cast, truth, self.today, zone, self.tracks)
        crews = {
            team["chief"]: team.get("crew", [team["chief"]])[0] for team in self.given["teams"]
        }
        for runner in self.runners:
            if runner.car.number in truth.cars:
                seasons.drive(runner, crews[runner.chief])

    def _club_things(self) -> None:
        with self.cast.acting("maren") as by:
            for track in self.given["tracks"]:
                self.tracks.append(self._track(by, track))
            self.meetings.add_classes(by)
            for chassis in self.given["chassis"]:
                self.garage.add_chassis(by, chassis)
            publish_starter(by, self.club)
            if self.truth is not None:
                add_limits(by, self.truth.parts, self.club)

    def _track(self, by: User, given: dict[str, Any]) -> Track:
        return add_track(
            by=by,
            club=self.club,
            name=given["name"],
            surface=given["surface"],
            corner_radius=parse(given["corner_radius"], Kind.LENGTH),
            lap_length=parse(given["lap_length"], Kind.LENGTH),
            banking=parse(given["banking"], Kind.ANGLE),
        )

    def _team(self, given: dict[str, Any]) -> None:
        with self.cast.acting("maren") as by:
            team = make_team(by=by, club=self.club, name=given["name"])
        self.cast.join("maren", given["chief"], self.club, "chief", team)
        for role in ("crew", "guest"):
            for key in given.get(role, []):
                self.cast.join(given["chief"], key, self.club, role, team)
        with self.cast.acting(given["chief"]) as by:
            if "coached" in given:
                link_coach(by=by, team=team, coach=self.cast[given["coached"]])
        with self.cast.acting(given["chief"]):
            drivers = {d["name"]: self._driver(team, d, given["chief"]) for d in given["drivers"]}
        for car in given["cars"]:
            self._car(team, given, car, drivers)

    def _hand_over(self) -> None:
        """A car that one family grew out of and another has now, with its sheet as set."""
        giver, taker = self.given["teams"][-2], self.given["teams"][-1]
        day = self.today - timedelta(days=60)
        with self.cast.acting(giver["chief"]) as by:
            team = Team.objects.get(club=self.club, name=giver["name"])
            chassis = Chassis.objects.filter(club=self.club).order_by("-name")[0]
            car = add_car(by=by, team=team, number=HANDED_ON, chassis=chassis, since=day)
            sheet = open_sheet(by=by, car=car, role="set", made_on=day, surface="paved")
            take_typed(by=by, sheet=sheet, typed=HANDED_ON_READ)
            close_sheet(by=by, sheet=sheet)
            _, code = offer_car(by=by, car=car, history="set")
        with self.cast.acting(taker["chief"]) as by:
            taken_by = Team.objects.get(club=self.club, name=taker["name"])
            take_car(by=by, code=code, team=taken_by, number=HANDED_ON, chassis=chassis)

    def _suggest(self) -> None:
        """The coach's table, and one of the first team's own above it."""
        own = load("suggestions.json")
        with self.cast.acting("ruben") as by:
            publish_own(by, self.club, own["coach"])
        runner = self.runners[0]
        with self.cast.acting(runner.chief) as by:
            publish_own(by, self.club, own["team"], runner.car.team)

    def _driver(self, team: Team, given: dict[str, Any], chief: str) -> tuple[Driver, float]:
        by = self.cast[chief]
        driver = add_driver(by=by, team=team, display_name=given["name"])
        birth = date(self.today.year - given["years"], 1, 1) + timedelta(days=15)
        set_birth_date(by=by, driver=driver, birth_date=birth)
        mass = parse(given["mass"], Kind.MASS)
        for months, less in WEIGHED:
            day = self.today - timedelta(days=30 * months)
            pounds = parse(f"{float(given['mass'].split()[0]) - less:g} lb", Kind.MASS)
            log_driver_weight(by=by, driver=driver, weighed_on=day, mass=pounds)
        return driver, float(mass.value)

    def _car(
        self,
        team: Team,
        given: dict[str, Any],
        car_given: dict[str, Any],
        drivers: dict[str, tuple[Driver, float]],
    ) -> None:
        driver, mass = drivers[car_given["driver"]]
        if given in self.given["school"]:
            self._school_car(team, given, car_given, (driver, mass))
            return
        with self.cast.acting(given["chief"]) as by:
            weekends = self._weekends_of(car_given["number"])
            race_class = self.meetings.classes[car_given["class"]]
            since = min(self.today - timedelta(days=700), weekends[0].day - timedelta(days=14))
            car = self.garage.add_car(by, team, car_given, race_class, since)
            if not self.runners:
                self.garage.add_parts(by, team, self.given["parts"])
            runner = Runner(car, driver, mass, given["chief"])
            self.garage.season(runner, weekends, self._parts_of(by, car))
        self.runners.append(runner)
        if given.get("coached"):
            with self.cast.acting(given["coached"]) as by:
                self.garage.remark(by, car)
            if not self.advised:
                self._advise(given, car)

    def _parts_of(self, by: User, car: Car) -> DemoParts | None:
        """What is on the one car whose parts are told; with the runs alone."""
        given = self.truth.parts if self.truth is not None else {}
        if given.get("car") != car.number:
            return None
        add_limits(by, given, car.team)
        return DemoParts(by, car.team, given)

    def _school_car(
        self,
        team: Team,
        given: dict[str, Any],
        car_given: dict[str, Any],
        driven_by: tuple[Driver, float],
    ) -> None:
        """A car with its newest sheet alone, which the coach's board has, and raced nowhere."""
        race_class, day = self.meetings.classes[car_given["class"]], self.today - timedelta(days=9)
        followed = car_given.get("followed")
        with self.cast.acting(given["chief"]) as by:
            since = self.today - timedelta(days=300)
            car = self.garage.add_car(by, team, car_given, race_class, since)
            runner = Runner(car, *driven_by, given["chief"])
            if followed is None:
                self.garage.set_once(runner, self.tracks[0], day, car_given.get("bent", {}))
                return
            off = {followed["box"]: followed["before"]}
            self.garage.set_once(runner, self.tracks[0], day - timedelta(days=14), off)
        with self.cast.acting(given["coached"]) as by:
            advice = self.garage.advise_on(by, car, followed)
        with self.cast.acting(given["chief"]) as by:
            # Not before the day of the advice, which is when the demo is made.
            self.garage.set_once(runner, self.tracks[0], self.today, {})
            tick_off_advice(by=by, advice=advice)

    def _advise(self, given: dict[str, Any], car: Car) -> None:
        """One piece of advice that stands, and one that the family answered."""
        self.advised = True
        with self.cast.acting(given["coached"]) as by:
            asked = self.garage.advise(by, car)
        with self.cast.acting(given["chief"]) as by:
            reply_to_advice(by=by, advice=asked, text=ANSWERED)

    def _plan_school_day(self) -> None:
        """The coach's next evening with all the cars of the board, shown to their families."""
        given = self.given["school_day"]
        with self.cast.acting(given["coach"]) as by:
            rows = Car.objects.filter(chassis__name=given["chassis"]).order_by(
                Length("number"), "number"
            )
            school_day = plan_school_day(
                by=by,
                club=self.club,
                day=self.today + timedelta(days=given["days_on"]),
                name=given["name"],
                track=self.tracks[0],
                note=given["note"],
                cars=list(rows.select_related("team")),
            )
            show_school_day(by=by, school_day=school_day)

    def _weekends(self) -> list[tuple[date, Track]]:
        """Two seasons, a winter apart; the dirt track every third time."""
        number, apart = self.given["weekends_a_season"], self.given["days_between_weekends"]
        first_days = (self.today - timedelta(days=365), self.today - timedelta(days=apart))
        days = [
            first_day - timedelta(days=apart * back)
            for first_day in first_days
            for back in reversed(range(number))
        ]
        return [(day, self.tracks[n % 3 == 2]) for n, day in enumerate(days)]

    def _weekends_of(self, number: str) -> list[WeekendDay]:
        """Those of the club, or of a car that is driven between them, set for where it goes."""
        if self.truth is None or number not in self.truth.cars:
            return [WeekendDay(day, track, track) for day, track in self._weekends()]
        car = self.truth.cars[number]
        driving = Driving(self.truth, car)
        list(driving.seasons())
        on = {track.surface: track for track in reversed(self.tracks)}
        return [
            WeekendDay(
                day=self.today - timedelta(days=weekend.ago),
                raced_at=on[weekend.raced_on],
                set_for=on[weekend.goes_to],
                stands=driving.found_with.get(place, ()),
            )
            for place, weekend in enumerate(calendar(car))
        ]

    def _meet(self) -> None:
        weekends = self._weekends()
        number = self.given["weekends_a_season"]
        for name, (day, track) in (
            ("Ember Oval", weekends[number - 1]),
            ("Opening Night", weekends[number]),
        ):
            self.meetings.hold(name, track, day, self.runners)
        self.meetings.begin("Lantern Night", self.tracks[0], self.runners)
        self.meetings.plan("Frost Cup", self.tracks[1], self.today + timedelta(days=14))
