"""A car that is entered in an event goes to nobody until it is withdrawn there."""

import pytest

from cars.handover.actions.handovers import offer_car
from clubsetup.access.errors import WrongState
from clubsetup.access.viewer import viewing_as
from events.actions.entries import withdraw_entry
from tests.clocks import database_at
from tests.events.meeting import ON_THE_DAY, make_meeting
from tests.people import People


def test_an_entered_car_is_withdrawn_first(people: People) -> None:
    meeting = make_meeting(people)
    with database_at(ON_THE_DAY), viewing_as(people.chief.pk):
        with pytest.raises(WrongState, match="entered in an event"):
            offer_car(by=people.chief, car=meeting.car, history="none")
        withdraw_entry(by=people.chief, entry=meeting.entry)
        row, _ = offer_car(by=people.chief, car=meeting.car, history="none")
    assert row.car_id == meeting.car.pk
