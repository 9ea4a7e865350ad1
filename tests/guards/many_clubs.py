"""The demo's club among others of its like, with a row of every kind and one car of many seasons.

Two databases hold the same club, cars and people, among ten clubs and among thirty: what a page
asks for itself is the same in both.
"""

import io
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, fields
from datetime import date
from decimal import Decimal
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import psycopg
from django.conf import settings
from django.db import connection, connections, transaction
from django.test import Client

from cars.baselines.actions.baselines import draft_baseline
from cars.baselines.actions.own_targets import set_own_target
from cars.exchange.actions.archive_import import import_archive
from cars.exchange.actions.exports import export_team
from cars.exchange.actions.imports import begin_import
from cars.exchange.files.archive_input import read_archive
from cars.garage.actions.cars import add_car
from cars.handover.actions.handovers import offer_car
from cars.history.actions.advice import leave_advice
from cars.history.actions.parts_life import set_part_limit
from cars.history.actions.school_days import plan_school_day, show_school_day
from cars.models import (
    BallastMount,
    BallastPiece,
    Baseline,
    Car,
    Change,
    Chassis,
    Comment,
    HandedSheet,
    Measure,
    Outing,
    Part,
    Plan,
    Reading,
    Sheet,
)
from cars.plans.actions.turns import reset_calibration
from cars.runs.actions.suggestions import add_suggestion, draft_suggestions
from cars.runs.queries.suggestions import tables_of_club
from cars.runs.queries.track_changes import set_sheet_now
from clubsetup.access.account import make_token
from clubsetup.access.ids import new_id
from clubsetup.access.models import User
from clubsetup.access.viewer import signing_in, viewing_as
from clubsetup.printing.actions.ask import ask_for_print
from clubsetup.quantities.kinds import Kind
from clubsetup.runtime.embedded import Embedded
from clubsetup.runtime.passwords import SUPERUSER
from events.actions.draws import draw_cars
from events.actions.measuring import measure_car
from events.actions.rule_sets import add_rule, draft_rule_set
from events.actions.voiding import void_weigh_in
from events.models import (
    BallastCheck,
    BallastPhoto,
    Entry,
    Event,
    Finding,
    RuleSet,
    ScaleCheck,
    ScaleSet,
    TechReading,
    WeighIn,
)
from teams.actions.invitations import invite
from teams.models import Club, Driver, DriverWeight, RaceClass, Team, Track
from tests.benchmarks.copies import add_clubs, add_past, loading
from tests.benchmarks.demo_server import accept_plans
from tests.cars.exchange.unpacked import empty_archive
from tests.guards.world import HANDED, RUNS, TIGHTER, World, at_the_track, typed
from tests.migrated import MIGRATED, copy_database, copy_demo, point_connections_at
from tests.people import People, browser_of, person
from tests.printing.documents import TEAM_CARD

FEW, MANY = 10, 30
# The demo's two seasons of a car so often again: 169 sheets.
PASTS = 6
ROLES = {
    "chief": "isa",
    "crew": "jonah",
    "guest": "nan",
    "coach": "ruben",
    "official": "ossian",
    "steward": "maren",
}


@dataclass
class ManyClubs:
    """The server; whoever asks is asked in the one that the connections lead to."""

    server: Embedded
    world: World
    who: dict[str, User]
    browsers: dict[str, Client]

    def turn_to(self, clubs: int) -> None:
        """From here on the connections lead to the database of so many clubs."""
        point_connections_at(self.server.url(_name(clubs)))


@contextmanager
def many_clubs() -> Iterator[ManyClubs]:
    """Loads them; afterwards they are gone, and the connections lead nowhere."""
    data = Path(settings.DATA_DIR) / "many"
    copy_demo(data)
    server = Embedded(data / "database")
    try:
        server.prepare(MIGRATED)
        yield _load(server)
    finally:
        connections.close_all()
        server.stop()
        shutil.rmtree(data, ignore_errors=True)


def _load(server: Embedded) -> ManyClubs:
    _let_nothing_run_by_itself(server)
    point_connections_at(server.url(MIGRATED))
    accept_plans(server.url(MIGRATED, SUPERUSER), 1)
    with transaction.atomic():
        world = _world()
        connection.run_on_commit.clear()  # nothing is printed or sent
    people = {
        **{role: getattr(world.people, role) for role in ROLES},
        "stranger": world.people.stranger,
    }
    browsers = {name: browser_of(user) for name, user in people.items()}
    connections.close_all()
    for clubs in (FEW, MANY):
        copy_database(server, _name(clubs))
        with loading(server.url(_name(clubs), SUPERUSER)) as there:
            add_clubs(there, world.people.club.pk, clubs, pasts=0)
            add_past(there, world.car.pk, PASTS)
    return ManyClubs(server, world, people, browsers)


def _name(clubs: int) -> str:
    return f"clubs_{clubs}"


def _let_nothing_run_by_itself(server: Embedded) -> None:
    """What is counted must not hang on when a cleaner came by, on how many helped, nor on which
    rows were looked at to know a table: of these tables all are."""
    with psycopg.connect(server.url("postgres", SUPERUSER), autocommit=True) as there:
        for setting in (
            *("autovacuum = off", "max_parallel_workers_per_gather = 0", "jit = off"),
            *("synchronous_commit = off", "default_statistics_target = 1000"),
        ):
            there.execute(f"ALTER SYSTEM SET {setting}")
        there.execute("SELECT pg_reload_conf()")


def _person(key: str) -> User:
    email = f"{key}@alder-hollow.example"
    pk = User.objects.using("owner").get(email=email).pk
    with signing_in(person=pk):
        return User.objects.get(pk=pk)


def _world() -> World:
    """The demo's rows under the names of the guards' world, and what the demo lacks."""
    people = _people()
    found: dict[str, Any] = {"people": people}
    with viewing_as(people.chief.pk):
        found |= _of_the_team(people)
        sheet = set_sheet_now(found["car"])
    assert sheet is not None
    found |= at_the_track(people, found["car"], sheet, found["tech_entry"], found["part"])
    with viewing_as(people.coach.pk):
        found["advice"] = leave_advice(by=people.coach, car=found["car"], text="Weigh it again.")
        found["school_day"] = plan_school_day(
            by=people.coach,
            club=people.club,
            day=date(2027, 1, 9),
            name="First evening",
            cars=[found["car"]],
        )
        show_school_day(by=people.coach, school_day=found["school_day"])
        found["outing"] = Outing.objects.get(school_day=found["school_day"])
    with viewing_as(people.official.pk):
        found |= _of_the_desk(people, found["tech_entry"])
    with viewing_as(people.steward.pk):
        found |= _of_the_club(people, found["car"].chassis)
    with viewing_as(people.steward.pk):
        _, secret = invite(by=people.steward, club=people.club, role="coach")
    found["secret"] = secret
    every: dict[str, Any] = {field.name: found.get(field.name) for field in fields(World)}
    return World(**every)


def _people() -> People:
    who: dict[str, Any] = {role: _person(key) for role, key in ROLES.items()}
    who |= {"rival": _person("bo"), "other_steward": _person("wim"), "unlinked_coach": who["coach"]}
    with viewing_as(who["steward"].pk):
        club = Club.objects.get(short_name="alder-hollow")
        team, rival_team = (Team.objects.get(name=name) for name in ("Wrenfield", "Tinder Box"))
    with viewing_as(who["other_steward"].pk):
        other_club = Club.objects.get(short_name="pinch-brook")
    who |= {"other_official": who["other_steward"], "stranger": person("stranger")}
    return People(club=club, other_club=other_club, team=team, rival_team=rival_team, **who)


def _of_the_team(people: People) -> dict[str, Any]:
    by, team = people.chief, people.team
    car = Car.objects.filter(team=team).order_by("created_at")[0]
    sheets = Sheet.objects.filter(car=car)
    sheet = sheets.get(state="open")
    closed = sheets.filter(state="closed").latest("made_on", "created_at")
    plain_car = add_car(by=by, team=team, number="78", chassis=car.chassis)
    driver = Driver.objects.filter(team=team)[0]
    target: dict[str, Any] = {
        "target": typed(Kind.LENGTH, "46 1/4"),
        "tolerance": typed(Kind.LENGTH, "1/8"),
    }
    wheelbase = Measure.objects.get(pk="wheelbase")
    own_target = set_own_target(
        by=by, car=car, measure=wheelbase, spot="left", reason="It turns in better.", **target
    )
    invitation, _ = invite(by=by, club=people.club, team=team, role="guest")
    handover, handover_code = offer_car(by=by, car=plain_car, history="none")
    handed = HandedSheet.objects.create(
        sheet=sheet, team=team, handover=handover, source=new_id(), content=HANDED
    )
    return {
        "car": car,
        "plain_car": plain_car,
        "sheet": sheet,
        "bench": sheet,
        "closed": closed,
        "was_set": sheets.filter(role="set", state="closed").latest("made_on", "created_at"),
        "part_limit": set_part_limit(
            by=by, team=team, sort="chain", per="nights", most=Decimal(90)
        ),
        "imported": import_archive(
            by=by, team=team, archive=read_archive(io.BytesIO(empty_archive()))
        ),
        "export": export_team(by=by, team=team),
        "import_draft": begin_import(
            by=by, team=team, kind="runs", file_name="runs.csv", content=RUNS
        ),
        "reading": Reading.objects.filter(sheet=sheet)[0],
        "change": Change.objects.filter(sheet__car=car)[0],
        "comment": Comment.objects.filter(sheet__car__team=team)[0],
        "plan": Plan.objects.filter(sheet__car=car)[0],
        "reset": reset_calibration(by=by, car=plain_car, reason="New springs."),
        "part": Part.objects.filter(team=team)[0],
        "driver": driver,
        "weight": DriverWeight.objects.filter(driver=driver)[0],
        "own_target": own_target,
        "invitation": invitation,
        "handover": handover,
        "handover_code": handover_code,
        "handed": handed,
        "job": ask_for_print(by=by, document=TEAM_CARD.key, subject_id=team.pk),
        "token": make_token(by=by, name="Mine", scopes=["read"], days=3)[0],
        "tech_entry": Entry.objects.filter(car=car, event__state="under_way").get(),
    }


def _of_the_desk(people: People, entry: Entry) -> dict[str, Any]:
    by, event = people.official, entry.event
    check = BallastCheck.objects.filter(entry=entry)[0]
    weigh_in = WeighIn.objects.filter(entry=entry).latest("created_at")
    over = WeighIn.objects.filter(entry__event=event).exclude(entry=entry)[0]
    wheelbase, length = Measure.objects.get(pk="wheelbase"), typed(Kind.LENGTH, "46 1/4")
    for one in Entry.objects.filter(event=event):
        for spot in ("left", "right"):
            measure_car(by=by, entry=one, measure=wheelbase, spot=spot, length=length)
    scales = ScaleSet.objects.filter(club=people.club, checks__isnull=False)[0]
    meeting = SimpleNamespace(
        event=event,
        event_class=entry.event_class,
        entry=entry,
        scales=scales,
        piece=BallastPiece.objects.filter(car_id=entry.car_id)[0],
    )
    return {
        "meeting": meeting,
        "check": check,
        "photo": BallastPhoto.objects.filter(ballast_check__entry__event=event)[0],
        "weigh_in": weigh_in,
        "void": void_weigh_in(by=by, weigh_in=over, reason="A wheel was off the pad."),
        "finding": Finding.objects.filter(entry=entry)[0],
        "tech_reading": TechReading.objects.filter(entry=entry)[0],
        "scale_check": ScaleCheck.objects.filter(scale_set=scales)[0],
        "draw": draw_cars(by=by, event=event, seed="4711", count=1, purpose="Fuel"),
    }


def _of_the_club(people: People, chassis: Chassis) -> dict[str, Any]:
    by, club = people.steward, people.club
    race_class = RaceClass.objects.filter(club=club)[0]
    rule_draft = draft_rule_set(by=by, race_class=race_class, valid_from=date(2030, 1, 1))
    next_event = Event.objects.get(club=club, state="planned")
    club_draft = draft_suggestions(by=by, club=club)
    return {
        "chassis": chassis,
        "mount": BallastMount.objects.filter(chassis=chassis)[0],
        "baseline": Baseline.objects.filter(chassis=chassis, state="published")[0],
        "draft": draft_baseline(by=by, chassis=chassis, surface="dirt"),
        "club_table": tables_of_club(club).get(state="published"),
        "club_draft": club_draft,
        "club_draft_row": add_suggestion(by=by, table=club_draft, given=TIGHTER),
        "track": Track.objects.filter(club=club)[0],
        "race_class": race_class,
        "rule_set": RuleSet.objects.filter(race_class=race_class, state="published")[0],
        "rule_draft": rule_draft,
        "rule": add_rule(by=by, rule_set=rule_draft, kind="ballast_marked", parameters={}),
        "next_event": next_event,
        "next_class": next_event.classes.all()[0],
    }
