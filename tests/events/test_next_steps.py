"""What an event says of what is next: for a car, and for whoever stands at its desk."""

from datetime import date
from typing import Any

import pytest
from django.test import Client

from cars.garage.presenters.car_blocks import CarBlock, team_blocks
from cars.sheets.actions.readings import take_typed
from cars.sheets.actions.sheets import close_sheet, open_sheet
from clubsetup.access.models import User
from clubsetup.access.viewer import viewing_as
from events.actions.entries import withdraw_entry
from events.presenters.desk_next import desk_next
from tests.events.meeting import Meeting

WEIGHTS = {f"weight.{spot}": "90" for spot in ("LF", "RF", "LR", "RR")}


def block(meeting: Meeting, viewer: User) -> CarBlock:
    with viewing_as(viewer.pk):
        blocks = [
            one for team in team_blocks(User.objects.get(pk=viewer.pk)) for one in team.blocks
        ]
    return next(one for one in blocks if one.car.pk == meeting.car.pk)


def set_and_closed(meeting: Meeting, **given: Any) -> None:
    by = meeting.people.chief
    with viewing_as(by.pk):
        sheet = open_sheet(
            by=by, car=meeting.car, role="set", made_on=date(2026, 6, 5), surface="paved", **given
        )
        take_typed(by=by, sheet=sheet, typed=WEIGHTS)
        close_sheet(by=by, sheet=sheet)


def test_what_fails_at_the_desk_comes_first(meeting: Meeting) -> None:
    set_and_closed(meeting)
    meeting.weigh("318.6")
    for who in (meeting.people.chief, meeting.people.guest):
        step = block(meeting, who).next
        assert step.point == "fails"
        assert "Add 1.4 lb of ballast" in step.after
        assert (step.does, step.url) == ("Read the findings", f"/entries/{meeting.entry.pk}/")


def test_a_car_that_is_set_and_entered_is_pre_checked(meeting: Meeting) -> None:
    set_and_closed(meeting)
    step = block(meeting, meeting.people.chief).next
    assert step.point == "entered in June Meeting, under way"
    assert step.url == f"/cars/{meeting.car.pk}/pre-check"
    assert block(meeting, meeting.people.guest).next.does == "Read it as set"


def test_one_that_is_not_entered_can_be(meeting: Meeting) -> None:
    set_and_closed(meeting)
    by = meeting.people.chief
    with viewing_as(by.pk):
        withdraw_entry(by=by, entry=meeting.entry)
    step = block(meeting, by).next
    assert step.point == "not entered"
    assert step.url == f"/events/{meeting.event.pk}/enter/{meeting.car.team_id}"
    assert block(meeting, meeting.people.guest).next.point != "not entered"


def test_the_desk_is_told_what_is_left(meeting: Meeting) -> None:
    def told(weighs: bool) -> tuple[str, str, str]:
        with viewing_as(meeting.people.official.pk):
            (one,) = desk_next([meeting.event], weighs=weighs)
        return one.point, one.after, one.does

    assert told(True) == ("2 of 2 still to weigh.", "", "Weigh the next car")
    meeting.weigh("318.6")
    assert told(True) == ("1 of 2 still to weigh.", " 1 fails.", "Weigh the next car")
    assert told(False) == ("2 entered, 1 still to weigh.", " 1 fails.", "See who is entered")


@pytest.mark.parametrize(
    ("who", "does"), [("official", "Weigh the next car"), ("steward", "See who is entered")]
)
def test_home_offers_each_their_own(client: Client, meeting: Meeting, who: str, does: str) -> None:
    client.force_login(getattr(meeting.people, who))
    page = client.get("/").content.decode()
    assert does in page
    assert ("Weigh the next car" in page) == (who == "official")
