"""A steward who is an official too looks for a child's birth date with 'eligible or not'."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from functools import partial
from typing import Any

import pytest
from django.db import connection
from django.test import Client

from clubsetup.access.models import TrailLine, User
from clubsetup.access.viewer import viewing_as
from events.actions.entries import confirm_entry, enter, enter_walk_in, withdraw_entry
from events.actions.events import add_event_class, plan_event, start_event
from events.actions.rule_sets import add_rule, draft_rule_set, publish_rule_set
from events.actions.weighing import weigh
from events.models import AgeAnswer, Entry, Event, EventClass, Finding, Rule
from events.queries.desk import desk
from events.queries.facts import answer_age
from teams.actions.drivers import set_birth_date
from teams.actions.places import add_race_class
from tests.clocks import database_at
from tests.events.meeting import ON_THE_DAY, RULES, Meeting, make_meeting, mass
from tests.guards.world import refused, undone
from tests.owner import bend
from tests.people import People, join

BORN = date(2018, 3, 29)
EARLIER = date(2012, 3, 29)
TODAY = ON_THE_DAY.date()
WEIGHT = RULES[:1]


def age_rule(at_least: int) -> tuple[str, dict[str, Any]]:
    return "driver_age", {"at_least": at_least}


@dataclass
class Attacker:
    """Steward and official in one person."""

    meeting: Meeting
    rounds: int = 0

    @property
    def me(self) -> User:
        return self.meeting.people.steward

    def event(self, day: date, at_least: int, *more: int) -> EventClass:
        """An event of that day with a class of that limit, under way; `more` limits by SQL."""
        self.rounds += 1
        people = self.meeting.people
        with viewing_as(self.me.pk):
            race_class = add_race_class(by=self.me, club=people.club, name=f"Of {self.rounds}")
        with viewing_as(self.me.pk):
            rules = draft_rule_set(by=self.me, race_class=race_class, valid_from=date(2000, 1, 1))
            for kind, parameters in (*WEIGHT, age_rule(at_least)):
                add_rule(by=self.me, rule_set=rules, kind=kind, parameters=parameters)
            for order, years in enumerate(more, start=10):
                kind, parameters = age_rule(years)
                Rule(
                    rule_set=rules, club=people.club, order=order, kind=kind, parameters=parameters
                ).save(force_insert=True)
            publish_rule_set(by=self.me, rule_set=rules)
            event = plan_event(
                by=self.me,
                club=people.club,
                track=self.meeting.track,
                name=f"Event {self.rounds}",
                starts_on=day,
                ends_on=max(day, TODAY),
            )
            event_class = add_event_class(by=self.me, event=event, race_class=race_class)
            event_class.event = start_event(by=self.me, event=event, another_day=True)
        return event_class

    def walk_in(self, event_class: EventClass) -> Entry:
        with viewing_as(self.me.pk):
            return enter_walk_in(
                by=self.me,
                event_class=event_class,
                car_number="27",
                car_id=self.meeting.car.pk,
            )

    def learns(self, entry: Entry, moment: datetime = ON_THE_DAY) -> dict[str, Any]:
        """Weighs the car, asks the database, and reads all there is about the entry."""
        with viewing_as(self.me.pk), database_at(moment):
            entry = Entry.objects.select_related("event", "event_class").get(pk=entry.pk)
            weigh(
                by=self.me,
                entry=entry,
                scale_set=self.meeting.scales,
                stage="entry",
                driver_in=True,
                total=mass("321"),
            )
            (row,) = [r for r in desk(entry.event) if r.entry.pk == entry.pk]
            return {
                "said": answer_age(entry.pk),
                "kept": list(AgeAnswer.objects.filter(entry=entry).values_list("eligible")),
                "state": str(row.state),
                "found": sorted(f.outcome for f in Finding.objects.filter(entry=entry)),
                "trail": [row.detail for row in TrailLine.objects.filter(did="told_age")],
            }


@pytest.fixture
def attacker(people: People) -> Attacker:
    meeting = make_meeting(people, WEIGHT)
    join(people.steward, people.steward, people.club, "official")
    born(meeting, BORN)
    return Attacker(meeting)


def born(meeting: Meeting, day: date) -> None:
    chief = meeting.people.chief
    with viewing_as(chief.pk):
        set_birth_date(by=chief, driver=meeting.driver, birth_date=day)


def entered(attacker: Attacker, event_class: EventClass) -> Entry:
    """The family enters its driver."""
    chief, meeting = attacker.meeting.people.chief, attacker.meeting
    with viewing_as(chief.pk):
        return enter(by=chief, event_class=event_class, car=meeting.car, driver=meeting.driver)


def with_either_date(attacker: Attacker, attack: Callable[[], Any]) -> tuple[Any, Any]:
    """What comes of it for a child of 8, and for one of 14."""
    came = []
    for day in (BORN, EARLIER):
        with undone():
            born(attacker.meeting, day)
            came.append(attack())
    return came[0], came[1]


def test_entries_made_by_hand_say_nothing_whatever_the_limits(attacker: Attacker) -> None:
    """The bisection: a limit an entry, the car by its number, and no family asked."""

    def bisect() -> list[dict[str, Any]]:
        return [
            attacker.learns(attacker.walk_in(attacker.event(day, years)))
            for day, years in ((TODAY, 10), (TODAY, 12), (TODAY - timedelta(days=2), 9))
        ]

    of_one, of_another = with_either_date(attacker, bisect)
    assert of_one == of_another
    assert {one["said"] for one in of_one} == {None}
    assert all(one["kept"] == [] for one in of_one)


def test_as_many_answers_as_entries_of_the_family(attacker: Attacker) -> None:
    """Two entries that it made, one by hand that it confirmed, one that it did not: three."""
    chief, meeting = attacker.meeting.people.chief, attacker.meeting
    entries = [entered(attacker, attacker.event(TODAY, years)) for years in (8, 9)]
    confirmed = attacker.walk_in(attacker.event(TODAY, 7))
    with viewing_as(chief.pk):
        confirm_entry(by=chief, entry=Entry.objects.get(pk=confirmed.pk), driver=meeting.driver)
    unconfirmed = attacker.walk_in(attacker.event(TODAY, 6))
    said = [attacker.learns(entry)["said"] for entry in (*entries, confirmed, unconfirmed)]
    assert said == [True, False, True, None]
    for entry in (*entries, confirmed, unconfirmed):
        attacker.learns(entry)
    with viewing_as(attacker.me.pk):
        assert AgeAnswer.objects.count() == 3
    with viewing_as(chief.pk):
        told = TrailLine.objects.filter(did="told_age", team_id=meeting.people.team.pk)
        assert {row.on_id for row in told} == {*(e.pk for e in entries), confirmed.pk}
        assert told.count() == 3
        assert {row.by_id for row in told} == {attacker.me.pk}


def test_many_limits_in_one_class_give_one_answer(attacker: Attacker) -> None:
    entry = entered(attacker, attacker.event(TODAY, 6, 7, 8, 9, 10))
    with database_at(ON_THE_DAY):
        learned = attacker.learns(entry)
        with viewing_as(attacker.me.pk):
            (row,) = [r for r in desk(entry.event) if r.entry.pk == entry.pk]
    assert learned["said"] is False
    ages = {f.outcome for f in row.findings if f.rule.kind == "driver_age"}
    assert ages == {"fails"}


def test_later_changes_do_not_ask_again(attacker: Attacker) -> None:
    """The event's day, the birth date, a withdrawal: the first answer stays."""
    entry = entered(attacker, attacker.event(TODAY, 8))
    assert attacker.learns(entry)["said"] is True
    with viewing_as(attacker.me.pk):
        long_ago = TODAY - timedelta(days=2000)
        bend(Event.objects.get(pk=entry.event_id), starts_on=long_ago)
    born(attacker.meeting, date(2021, 1, 1))
    at = datetime.combine(long_ago, time(15), UTC)
    for moment in (ON_THE_DAY, at):
        assert attacker.learns(entry, moment)["said"] is True
    with viewing_as(attacker.me.pk):
        found = Entry.objects.select_related("event").get(pk=entry.pk)
        withdraw_entry(by=attacker.me, entry=found)
    again = attacker.walk_in(entry.event_class)
    assert attacker.learns(again)["said"] is None


@pytest.mark.parametrize(("days", "told"), [(-4, False), (-3, True), (3, True), (4, False)])
def test_only_of_an_event_within_three_days(attacker: Attacker, days: int, told: bool) -> None:
    """By the day it starts, which the age is reckoned by; however long it is said to last."""
    entry = entered(attacker, attacker.event(TODAY + timedelta(days=days), 5))
    assert (attacker.learns(entry)["said"] is not None) == told


def test_nobody_writes_or_asks_around_it(attacker: Attacker) -> None:
    """As SQL: an entry in the family's name, a confirmation, an answer."""
    meeting = attacker.meeting
    event_class = attacker.event(TODAY, 8)
    walk_in = attacker.walk_in(event_class)
    copy = (
        "INSERT INTO events_entry (id, created_at, event_id, club_id, event_class_id, team_id, "
        "car_id, driver_id, number, display_name, shares_its_number, confirmed_at, "
        "confirmed_by_id) SELECT gen_random_uuid(), now(), event_id, club_id, event_class_id, "
        f"team_id, car_id, '{meeting.driver.pk}', '98', 'Robin', false, {{}} "
        f"FROM events_entry WHERE id = '{walk_in.pk}'"
    )
    of = f"WHERE id = '{walk_in.pk}'"
    with viewing_as(attacker.me.pk):
        for statement in (
            copy.format("NULL, NULL"),
            copy.format(f"now(), '{meeting.people.chief.pk}'"),
            copy.format(f"now(), '{attacker.me.pk}'"),
            f"UPDATE events_entry SET confirmed_at = now() {of}",
            f"UPDATE events_entry SET driver_id = '{meeting.driver.pk}' {of}",
            "DELETE FROM events_ageanswer",
            "UPDATE events_ageanswer SET eligible = NOT eligible",
        ):
            assert refused(partial(run, statement), whole=False), statement
        with connection.cursor() as cursor:
            cursor.execute("SELECT access.confirm_entry(%s, %s)", [walk_in.pk, meeting.driver.pk])
            assert cursor.fetchone() == (False,)


def run(statement: str) -> None:
    with connection.cursor() as cursor:
        cursor.execute(statement)


def test_stewards_guests_and_coaches_are_not_told(attacker: Attacker) -> None:
    """Nor do they see it afterwards: on the page of the entry, or as a row."""
    people = attacker.meeting.people
    entry = entered(attacker, attacker.event(TODAY, 9))
    assert attacker.learns(entry)["said"] is False
    join(people.steward, people.unlinked_coach, people.club, "steward")
    for name, told in (
        *((one, True) for one in ("official", "chief", "crew")),
        *((one, False) for one in ("unlinked_coach", "guest", "coach")),
    ):
        who = getattr(people, name)
        with viewing_as(who.pk):
            assert AgeAnswer.objects.exists() == told, name
        client = Client()
        client.force_login(who)
        page = client.get(f"/entries/{entry.pk}/").content.decode()
        assert ("Not eligible by age" in page) == told, name


def test_the_only_steward_who_becomes_an_official_stands_in_the_clubs_trail(
    people: People,
) -> None:
    def said() -> int:
        with viewing_as(people.steward.pk):
            rows = TrailLine.objects.filter(did="became_official_alone", team_id__isnull=True)
            return rows.filter(club_id=people.club.pk, by=people.steward).count()

    assert said() == 0
    join(people.steward, people.steward, people.club, "official")
    assert said() == 1
    client = Client()
    client.force_login(people.steward)
    page = client.get(f"/clubs/{people.club.pk}/trail").content.decode()
    assert "only steward" in page
