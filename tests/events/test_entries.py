"""Entries: by the team, by hand at the scales, withdrawn, renumbered."""

from typing import Any
from uuid import uuid4

import pytest
from django.db import DatabaseError, transaction
from django.utils import timezone

from cars.garage.actions.cars import add_car
from cars.models import Car, Chassis
from clubsetup.access.errors import Invalid, NotAllowed, WrongState
from clubsetup.access.models import User
from clubsetup.access.viewer import viewing_as
from events.actions.entries import enter, enter_walk_in, renumber_entry, withdraw_entry
from events.actions.events import end_event
from events.models import Entry
from events.queries.walk_in import cars_by_number
from teams.actions.drivers import add_driver
from teams.models import Driver, Team
from tests.events.meeting import Meeting


def another_car(meeting: Meeting, by: User, team: Team, number: str) -> tuple[Car, Driver]:
    with viewing_as(by.pk):
        chassis = Chassis.objects.get()
        car = add_car(by=by, team=team, number=number, chassis=chassis)
        return car, add_driver(by=by, team=team, display_name=f"Driver {number}")


def test_the_crew_enter_their_car_under_its_number(meeting: Meeting) -> None:
    people = meeting.people
    car, driver = another_car(meeting, people.crew, people.team, "28")
    with viewing_as(people.crew.pk):
        entry = enter(by=people.crew, event_class=meeting.event_class, car=car, driver=driver)
    assert (entry.number, entry.display_name) == ("28", "Driver 28")


@pytest.mark.parametrize(
    "name", ["guest", "coach", "unlinked_coach", "rival", "official", "steward"]
)
def test_nobody_else_enters_a_teams_car(meeting: Meeting, name: str) -> None:
    who = getattr(meeting.people, name)
    with viewing_as(meeting.people.chief.pk):
        _ = meeting.car.team
    with viewing_as(who.pk), pytest.raises(NotAllowed):
        enter(by=who, event_class=meeting.event_class, car=meeting.car, driver=meeting.driver)


def test_a_number_is_taken_once_a_class_even_by_a_car_one_cannot_see(meeting: Meeting) -> None:
    people = meeting.people
    car, driver = another_car(meeting, people.chief, people.team, "31")
    with viewing_as(people.chief.pk), pytest.raises(Invalid) as refusal:
        enter(by=people.chief, event_class=meeting.event_class, car=car, driver=driver)
    assert refusal.value.field == "number"
    with viewing_as(people.chief.pk):
        entry = enter(
            by=people.chief, event_class=meeting.event_class, car=car, driver=driver, number="31x"
        )
    assert entry.number == "31x"


def test_a_car_is_in_a_class_once_and_again_after_withdrawing(meeting: Meeting) -> None:
    by = meeting.people.chief
    given: dict[str, Any] = {
        "event_class": meeting.event_class,
        "car": meeting.car,
        "driver": meeting.driver,
    }
    with viewing_as(by.pk):
        with pytest.raises(Invalid) as refusal:
            enter(by=by, **given)
        assert refusal.value.field == "car"
        withdraw_entry(by=by, entry=meeting.entry)
        with pytest.raises(WrongState):
            withdraw_entry(by=by, entry=meeting.entry)
        again = enter(by=by, **given)
    assert again.pk != meeting.entry.pk


def test_another_teams_driver_does_not_drive(meeting: Meeting) -> None:
    people = meeting.people
    with viewing_as(people.rival.pk):
        driver = Driver.objects.get()
    with viewing_as(people.chief.pk), pytest.raises(Invalid) as refusal:
        enter(by=people.chief, event_class=meeting.event_class, car=meeting.car, driver=driver)
    assert refusal.value.field == "driver"


def test_nobody_enters_an_event_that_is_over(meeting: Meeting) -> None:
    people = meeting.people
    car, driver = another_car(meeting, people.chief, people.team, "28")
    with viewing_as(people.steward.pk):
        meeting.event_class.event = end_event(by=people.steward, event=meeting.event)
    with viewing_as(people.chief.pk), pytest.raises(WrongState):
        enter(by=people.chief, event_class=meeting.event_class, car=car, driver=driver)


@pytest.mark.parametrize("name", ["official", "steward"])
def test_an_official_enters_a_car_by_its_number(meeting: Meeting, name: str) -> None:
    people = meeting.people
    another_car(meeting, people.rival, people.rival_team, "44a")
    who = getattr(people, name)
    with viewing_as(who.pk):
        assert not Car.objects.exists()
        assert not Driver.objects.exists()
        (car,) = cars_by_number(meeting.event.pk, "44A")
        entry = enter_walk_in(
            by=who,
            event_class=meeting.event_class,
            car_number="44a",
            car_id=car.car_id,
        )
    assert (entry.number, entry.display_name, entry.driver_id) == ("44a", "", None)
    assert not entry.is_confirmed
    with viewing_as(people.rival.pk):
        assert Entry.objects.filter(pk=entry.pk).exists()


def test_by_hand_only_what_the_number_leads_to(meeting: Meeting) -> None:
    by = meeting.people.official
    with viewing_as(by.pk):
        for number, car_id in (("28", meeting.car.pk), ("27", uuid4())):
            with pytest.raises(Invalid):
                enter_walk_in(
                    by=by,
                    event_class=meeting.event_class,
                    car_number=number,
                    car_id=car_id,
                )


@pytest.mark.parametrize(
    "name", ["chief", "coach", "unlinked_coach", "rival", "other_official", "stranger"]
)
def test_looking_cars_up_by_number_is_the_officials(meeting: Meeting, name: str) -> None:
    with viewing_as(getattr(meeting.people, name).pk):
        assert cars_by_number(meeting.event.pk, "27") == []


def test_and_ends_with_the_event(meeting: Meeting) -> None:
    people = meeting.people
    with viewing_as(people.steward.pk):
        end_event(by=people.steward, event=meeting.event)
    with viewing_as(people.official.pk):
        assert cars_by_number(meeting.event.pk, "27") == []


def test_an_official_cannot_enter_a_car_of_another_clubs_team(meeting: Meeting) -> None:
    """An entry opens a car's ballast to the official, so the database lets in only home teams."""
    people = meeting.people
    row = {
        "event": meeting.event,
        "club": people.club,
        "event_class": meeting.event_class,
        "team": people.team,
        "car": meeting.car,
        "driver": meeting.driver,
        "number": "99",
        "display_name": "Robin",
    }
    with viewing_as(people.other_official.pk), pytest.raises(DatabaseError), transaction.atomic():
        Entry.objects.create(**row)


def test_a_car_is_entered_for_the_team_that_has_it(meeting: Meeting) -> None:
    people = meeting.people
    with viewing_as(people.rival.pk), pytest.raises(DatabaseError), transaction.atomic():
        Entry.objects.create(
            event=meeting.event,
            club=people.club,
            event_class=meeting.event_class,
            team=people.rival_team,
            car=meeting.car,
            driver=meeting.rival_entry.driver,
            number="99",
            display_name="Sky",
            confirmed_at=timezone.now(),
            confirmed_by=people.rival,
        )


@pytest.mark.parametrize("name", ["chief", "crew", "official", "steward"])
def test_a_number_is_changed_by_the_crew_or_the_officials(meeting: Meeting, name: str) -> None:
    who = getattr(meeting.people, name)
    with viewing_as(who.pk):
        renumber_entry(by=who, entry=meeting.entry, number="72")
        assert Entry.objects.get(pk=meeting.entry.pk).number == "72"
        with pytest.raises(Invalid):
            renumber_entry(by=who, entry=meeting.entry, number="31")


@pytest.mark.parametrize("name", ["guest", "coach"])
def test_but_not_by_those_who_only_read(meeting: Meeting, name: str) -> None:
    who = getattr(meeting.people, name)
    with viewing_as(who.pk):
        with pytest.raises(NotAllowed):
            renumber_entry(by=who, entry=meeting.entry, number="72")
        with pytest.raises(NotAllowed):
            withdraw_entry(by=who, entry=meeting.entry)
        assert Entry.objects.filter(pk=meeting.entry.pk).update(number="72") == 0


def test_what_was_entered_cannot_be_moved_to_another_car(meeting: Meeting) -> None:
    car, _ = another_car(meeting, meeting.people.chief, meeting.people.team, "28")
    with viewing_as(meeting.people.chief.pk), pytest.raises(DatabaseError), transaction.atomic():
        Entry.objects.filter(pk=meeting.entry.pk).update(car=car)


def test_two_teams_taking_a_number_at_once_get_it_once(meeting: Meeting) -> None:
    """The start list was read before the other's entry came: the database still says no."""
    people = meeting.people
    car, driver = another_car(meeting, people.chief, people.team, "50")
    with viewing_as(people.chief.pk), pytest.raises(DatabaseError), transaction.atomic():
        Entry.objects.create(
            event=meeting.event,
            club=people.club,
            event_class=meeting.event_class,
            team=people.team,
            car=car,
            driver=driver,
            number="31",
            display_name="Driver 50",
        )
