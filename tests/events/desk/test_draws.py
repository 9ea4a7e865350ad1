"""Draws of cars: on record, repeatable by every member of the club, made by officials alone."""

import html
import re
import subprocess
from typing import Any
from uuid import uuid4

import pytest
from django.db import DatabaseError, transaction
from django.test import Client

from clubsetup.access.errors import Invalid, NotAllowed, WrongState
from clubsetup.access.viewer import viewing_as
from events.actions.draws import draw_cars
from events.actions.entries import withdraw_entry
from events.actions.events import end_event
from events.models import Draw, Event
from events.queries.draws import DrawView
from tests.events.desk.conftest import EVERYBODY, MEMBERS, STRANGERS, answers, expected
from tests.events.meeting import Meeting


def draw(meeting: Meeting, **changed: Any) -> Draw:
    by = changed.pop("by", meeting.people.official)
    with viewing_as(by.pk):
        event = Event.objects.get(pk=meeting.event.pk)
        given = {"seed": "three sixes", "count": 1, "purpose": "Ballast check", "event": event}
        return draw_cars(by=by, **{**given, **changed})


def form(**changed: str) -> dict[str, str]:
    given = {"row_id": str(uuid4()), "purpose": "Ballast", "event_class": "", "count": "1"}
    return {**given, "seed": "three sixes", **changed}


def test_it_keeps_seed_candidates_and_who_was_drawn(meeting: Meeting) -> None:
    made = draw(meeting, event_class=meeting.event_class, count=2)
    assert made.candidates == ["27", "31"]
    assert sorted(made.drawn) == ["27", "31"]
    assert "SHA-256" in made.method


def test_among_all_classes_the_class_is_part_of_the_name(meeting: Meeting) -> None:
    assert draw(meeting).candidates == ["Junior 27", "Junior 31"]


def test_a_withdrawn_car_is_not_drawn(meeting: Meeting) -> None:
    with viewing_as(meeting.people.rival.pk):
        withdraw_entry(by=meeting.people.rival, entry=meeting.rival_entry)
    assert draw(meeting, event_class=meeting.event_class).drawn == ["27"]


def test_drawing_again_with_the_same_seed_is_refused(meeting: Meeting) -> None:
    draw(meeting)
    with pytest.raises(Invalid) as refusal:
        draw(meeting, seed=" three sixes ")
    assert refusal.value.field == "seed"


@pytest.mark.parametrize(
    ("changed", "field"),
    [
        ({"seed": "  "}, "seed"),
        ({"seed": "a\nb"}, "seed"),
        ({"seed": "x" * 81}, "seed"),
        ({"purpose": ""}, "purpose"),
        ({"count": 0}, "count"),
        ({"count": 3}, "count"),
    ],
)
def test_what_is_no_draw_is_refused(meeting: Meeting, changed: dict[str, Any], field: str) -> None:
    with pytest.raises(Invalid) as refusal:
        draw(meeting, **changed)
    assert refusal.value.field == field


def test_only_while_the_event_is_under_way(meeting: Meeting) -> None:
    with viewing_as(meeting.people.steward.pk):
        end_event(by=meeting.people.steward, event=meeting.event)
    with pytest.raises(WrongState):
        draw(meeting)


@pytest.mark.parametrize("name", [n for n in MEMBERS if n != "official"])
def test_nobody_but_an_official_draws(meeting: Meeting, name: str) -> None:
    with pytest.raises(NotAllowed):
        draw(meeting, by=getattr(meeting.people, name))


@pytest.mark.parametrize("name", STRANGERS)
def test_another_club_neither_draws_nor_sees(meeting: Meeting, name: str) -> None:
    draw(meeting)
    who = getattr(meeting.people, name)
    with viewing_as(who.pk):
        assert not Draw.objects.exists()
        with pytest.raises(NotAllowed):
            draw_cars(by=who, event=meeting.event, seed="x", count=1, purpose="y")


@pytest.mark.parametrize("name", ["official", "steward"])
def test_a_draw_stays_as_it_is(meeting: Meeting, name: str) -> None:
    made = draw(meeting)
    with viewing_as(getattr(meeting.people, name).pk):
        for write in (
            lambda: Draw.objects.filter(pk=made.pk).update(drawn=["31"]),
            lambda: Draw.objects.filter(pk=made.pk).delete(),
        ):
            with pytest.raises(DatabaseError), transaction.atomic():
                write()


def test_who_is_let_in(meeting: Meeting) -> None:
    made = draw(meeting)
    assert answers(meeting, f"/draws/{made.pk}/") == expected(members=200)
    assert answers(meeting, f"/events/{meeting.event.pk}/draws") == expected(members=200)
    sent = answers(meeting, f"/events/{meeting.event.pk}/draws", form(seed="another"))
    assert sent == expected(members=403, official=302)


@pytest.mark.parametrize("name", EVERYBODY)
def test_only_an_official_is_offered_the_form(meeting: Meeting, client: Client, name: str) -> None:
    client.force_login(getattr(meeting.people, name))
    text = client.get(f"/events/{meeting.event.pk}/draws").content.decode()
    assert ('name="seed"' in text) is (name == "official")


def test_the_page_shows_a_line_that_gives_the_same_cars(client: Client, meeting: Meeting) -> None:
    made = draw(meeting, seed="it's 4 & 5", count=2)
    client.force_login(meeting.people.rival)
    text = client.get(f"/draws/{made.pk}/").content.decode()
    line = re.search(r'<pre class="repeat"[^>]*>(.*?)</pre>', text, re.DOTALL)
    assert line
    said = subprocess.run(
        ["sh", "-c", html.unescape(line[1])], capture_output=True, text=True, check=True
    ).stdout.splitlines()
    assert [one.split(" ", 1)[1] for one in said] == made.drawn


def test_drawing_on_the_page(client: Client, meeting: Meeting) -> None:
    client.force_login(meeting.people.official)
    url, sent = f"/events/{meeting.event.pk}/draws", form(event_class=str(meeting.event_class.pk))
    page = client.post(url, sent, follow=True)
    assert "1 of 2 cars, Junior." in page.content.decode()
    assert client.post(url, sent).status_code == 302  # a double tap
    again = client.post(url, form())
    assert "drawn with at this event before" in again.content.decode()
    assert 'value="three sixes"' in again.content.decode()
    with viewing_as(meeting.people.official.pk):
        assert Draw.objects.count() == 1


def test_a_record_that_does_not_repeat_is_said(meeting: Meeting) -> None:
    made = draw(meeting)
    assert DrawView(made).repeats
    made.drawn = [car for car in made.candidates if car not in made.drawn]
    assert not DrawView(made).repeats
