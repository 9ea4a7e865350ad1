"""An entry made by hand at the scales: weighed meanwhile, its team's until the team confirms it."""

from datetime import date

import pytest
from django.db import transaction
from django.test import Client

from cars.models import BallastPiece
from clubsetup.access.actions import record
from clubsetup.access.errors import Invalid, NotAllowed, WrongState
from clubsetup.access.viewer import viewing_as
from events.actions.ballast import check_no_ballast
from events.actions.entries import confirm_entry, enter_walk_in, withdraw_entry
from events.models import Entry, WeighIn
from teams.actions.drivers import set_birth_date
from teams.presenters.trail import club_trail
from tests.events.meeting import RULES, Meeting, make_meeting
from tests.people import People

AGES = [*RULES, ("driver_age", {"at_least": 5, "at_most": 8})]


@pytest.fixture
def walk_in(people: People) -> Meeting:
    """The Wrens' car stands at the scales; the entry they had made is withdrawn."""
    meeting = make_meeting(people, AGES)
    with viewing_as(people.chief.pk):
        set_birth_date(by=people.chief, driver=meeting.driver, birth_date=date(2019, 1, 1))
        withdraw_entry(by=people.chief, entry=meeting.entry)
    official = people.official
    with viewing_as(official.pk):
        assert not BallastPiece.objects.exists()
        meeting.entry = enter_walk_in(
            by=official,
            event_class=meeting.event_class,
            car_number="27",
            car_id=meeting.car.pk,
        )
    return meeting


def as_(client: Client, who: object) -> Client:
    client.force_login(who)  # type: ignore[arg-type]
    return client


def page_of(client: Client, meeting: Meeting, name: str) -> str:
    as_(client, getattr(meeting.people, name))
    return client.get(f"/entries/{meeting.entry.pk}/").content.decode()


def test_it_is_weighed_and_looked_at_meanwhile(client: Client, walk_in: Meeting) -> None:
    """The official sees no piece of the team's list, not even by what is refused."""
    official = walk_in.people.official
    weigh_in = walk_in.weigh("321")
    assert walk_in.outcomes()["minimum_weight"] == "meets"
    with viewing_as(official.pk):
        assert not BallastPiece.objects.exists()
        entry = Entry.objects.select_related("event", "event_class").get(pk=walk_in.entry.pk)
        assert check_no_ballast(by=official, entry=entry).none_on_car
        assert WeighIn.objects.get(pk=weigh_in.pk).listed is None
    page = page_of(client, walk_in, "official")
    assert "Added at the scales" in page
    assert "marked 4 lb" not in page
    assert "the team has not confirmed the entry" in page


def test_the_crew_confirm_it_on_their_start_page(client: Client, walk_in: Meeting) -> None:
    walk_in.weigh("321")
    where = f"/entries/{walk_in.entry.pk}/confirm"
    as_(client, walk_in.people.crew)
    assert where in client.get("/").content.decode()
    assert "Robin" in client.get(where).content.decode()
    answer = client.post(where, {"driver": walk_in.driver.pk})
    assert answer.status_code == 302
    assert where not in client.get("/").content.decode()
    with viewing_as(walk_in.people.official.pk):
        entry = Entry.objects.get(pk=walk_in.entry.pk)
        assert (entry.display_name, entry.driver_id) == ("Robin", walk_in.driver.pk)
        assert BallastPiece.objects.count() == 1
    # What the team lists was on the car when it was weighed, as far as anybody knows.
    assert walk_in.outcomes()["minimum_weight"] == "meets"
    walk_in.weigh("321")
    assert walk_in.outcomes()["minimum_weight"] == "meets"
    trail = client.get(f"/teams/{walk_in.people.team.pk}/trail").content.decode()
    assert "confirmed an entry made at the scales" in trail


def test_a_line_written_under_the_old_word_reads_the_same(walk_in: Meeting) -> None:
    people, entry = walk_in.people, walk_in.entry
    with viewing_as(people.official.pk), transaction.atomic():
        record(by=people.official, did="entered_by_hand", on=entry, club_id=entry.club_id)
    with viewing_as(people.steward.pk):
        lines = [line.what for line in club_trail(people.club).lines]
    assert lines.count("entered a car at the scales") == 2


@pytest.mark.parametrize("name", ["guest", "coach", "official", "steward", "rival"])
def test_nobody_else_confirms_it(walk_in: Meeting, name: str) -> None:
    who = getattr(walk_in.people, name)
    with viewing_as(who.pk), pytest.raises(NotAllowed):
        confirm_entry(by=who, entry=walk_in.entry, driver=walk_in.driver)


def test_it_is_confirmed_once_with_a_driver_of_the_team(walk_in: Meeting) -> None:
    chief = walk_in.people.chief
    with viewing_as(chief.pk):
        entry = Entry.objects.select_related("event").get(pk=walk_in.entry.pk)
        rival = walk_in.rival_entry.driver
        assert rival
        with pytest.raises(Invalid):
            confirm_entry(by=chief, entry=entry, driver=rival)
        confirm_entry(by=chief, entry=entry, driver=walk_in.driver)
        with pytest.raises(WrongState):
            confirm_entry(by=chief, entry=entry, driver=walk_in.driver)


def test_the_api_confirms_it(client: Client, walk_in: Meeting) -> None:
    as_(client, walk_in.people.chief)
    answer = client.post(
        f"/api/v1/entries/{walk_in.entry.pk}/confirm",
        {"driver": str(walk_in.driver.pk)},
        content_type="application/json",
    )
    assert answer.status_code == 200
    assert answer.json()["confirmed_at"]


@pytest.mark.parametrize(
    ("name", "said"), [("chief", True), ("crew", True), ("guest", False), ("coach", False)]
)
def test_the_crew_read_the_age_in_the_pre_check(
    client: Client, walk_in: Meeting, name: str, said: bool
) -> None:
    """From the date they hold, on whatever day; no official is asked."""
    chief = walk_in.people.chief
    with viewing_as(chief.pk):
        entry = Entry.objects.select_related("event").get(pk=walk_in.entry.pk)
        confirm_entry(by=chief, entry=entry, driver=walk_in.driver)
    as_(client, getattr(walk_in.people, name))
    page = client.get(f"/cars/{walk_in.car.pk}/pre-check", {"total": "321"}).content.decode()
    assert ("Eligible by age" in page) == said
    assert ("Age not checked" in page) != said
