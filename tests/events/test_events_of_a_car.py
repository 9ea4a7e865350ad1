"""The events that a car was entered at are marks on its history that lead to them."""

from datetime import timedelta

from cars.sheets.actions.readings import take_typed
from cars.sheets.actions.sheets import close_sheet, open_sheet
from clubsetup.access.viewer import viewing_as
from tests.cars.history.test_back_to_track import WEIGHED, page, text_of
from tests.events.meeting import FIRST_DAY, Meeting


def history_of(meeting: Meeting) -> str:
    return f"/cars/{meeting.car.pk}/history"


def set_the_day_before(meeting: Meeting) -> None:
    by = meeting.people.chief
    with viewing_as(by.pk):
        made_on = FIRST_DAY - timedelta(days=1)
        sheet = open_sheet(by=by, car=meeting.car, role="set", made_on=made_on, track=meeting.track)
        take_typed(by=by, sheet=sheet, typed=WEIGHED)
        close_sheet(by=by, sheet=sheet)


def test_an_event_is_a_letter_in_the_drawing_and_a_line_of_the_table(meeting: Meeting) -> None:
    set_the_day_before(meeting)
    path = history_of(meeting)
    text = text_of(page(meeting.people, "chief", path))
    words, goes_to = "6 Jun 2026: June Meeting", f"/events/{meeting.event.pk}/"
    assert f'<a href="{goes_to}" aria-label="{words}">' in text
    assert f'<a class="small" href="{goes_to}"> <b>A</b>' in text
    (happened,) = page(meeting.people, "chief", f"/api/v1{path}").json()["happened"]
    assert (happened["kind"], happened["what"]) == ("event", "June Meeting")
    assert happened["event"] == str(meeting.event.pk)
