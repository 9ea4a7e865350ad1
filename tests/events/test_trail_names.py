"""The club's trail says of which entry, at which event, something official was done."""

from clubsetup.access.viewer import viewing_as
from events.actions.voiding import void_weigh_in
from teams.presenters.trail import club_trail, team_trail
from tests.events.meeting import Meeting, make_meeting
from tests.events.photographs import jpeg
from tests.events.test_ballast_checks import look
from tests.events.test_measuring import measured
from tests.people import People


def test_every_official_record_is_named(meeting: Meeting) -> None:
    weigh_in = meeting.weigh("318")
    look(meeting, photo=jpeg())
    measured(meeting, "45")
    people = meeting.people
    with viewing_as(people.official.pk):
        void_weigh_in(by=people.official, weigh_in=weigh_in, reason="Not level")
    with viewing_as(people.steward.pk):
        lines = {line.what: line.on for line in club_trail(people.club).lines}
    of_the_car = "27 Robin, June Meeting"
    for what in (
        *("weighed a car", "looked at ballast", "photographed a piece of ballast"),
        *("measured a car", "voided a record"),
    ):
        assert lines[what] == of_the_car, what
    assert lines["planned an event"] == "June Meeting"


def test_an_entry_is_named_in_its_teams_trail(people: People) -> None:
    meeting = make_meeting(people)
    with viewing_as(people.chief.pk):
        lines = [(line.what, line.on) for line in team_trail(people.team).lines]
    assert ("entered a car", f"27 Robin, {meeting.event}") in lines
