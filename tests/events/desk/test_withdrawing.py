"""Withdrawing is asked about first, and a withdrawn entry has a way back."""

import pytest
from django.test import Client

from clubsetup.access.errors import NotAllowed, WrongState
from clubsetup.access.models import TrailLine
from clubsetup.access.viewer import viewing_as
from events.actions.entries import enter, restore_entry, withdraw_entry
from events.actions.events import end_event
from events.models import Entry
from tests.events.meeting import Meeting


@pytest.fixture
def gone(meeting: Meeting) -> Entry:
    """The Wrens' entry, withdrawn by their chief."""
    by = meeting.people.chief
    with viewing_as(by.pk):
        return withdraw_entry(by=by, entry=meeting.entry)


def test_withdrawing_is_asked_about_first(client: Client, meeting: Meeting) -> None:
    client.force_login(meeting.people.official)
    text = client.get(f"/entries/{meeting.entry.pk}/").content.decode()
    assert "<summary>Withdraw the entry</summary>" in text
    assert ">Withdraw the entry</button>" in text


@pytest.mark.parametrize("name", ["chief", "crew", "official", "steward"])
def test_whoever_may_withdraw_brings_it_back(meeting: Meeting, gone: Entry, name: str) -> None:
    by = getattr(meeting.people, name)
    with viewing_as(by.pk):
        assert restore_entry(by=by, entry=gone).withdrawn_at is None
        assert Entry.objects.get(pk=gone.pk).withdrawn_at is None
        assert TrailLine.objects.filter(did="restored").count() == 1


@pytest.mark.parametrize("name", ["guest", "coach", "rival", "other_official", "stranger"])
def test_nobody_else_does(meeting: Meeting, gone: Entry, name: str) -> None:
    by = getattr(meeting.people, name)
    with viewing_as(by.pk), pytest.raises(NotAllowed):
        restore_entry(by=by, entry=gone)


def test_not_while_the_car_is_entered_again(meeting: Meeting, gone: Entry) -> None:
    by = meeting.people.chief
    with viewing_as(by.pk):
        enter(
            by=by,
            event_class=meeting.event_class,
            car=meeting.car,
            driver=meeting.driver,
            number="72",
        )
        with pytest.raises(WrongState, match="again"):
            restore_entry(by=by, entry=gone)


def test_not_once_the_number_is_anothers(client: Client, meeting: Meeting, gone: Entry) -> None:
    by = meeting.people.chief
    with viewing_as(by.pk):
        enter(by=by, event_class=meeting.event_class, car=meeting.car, driver=meeting.driver)
    client.force_login(meeting.people.official)
    page = client.post(f"/entries/{gone.pk}/restore", follow=True)
    assert "has a number 27 already" in page.content.decode()
    with viewing_as(by.pk):
        assert Entry.objects.get(pk=gone.pk).withdrawn_at is not None


def test_not_after_the_event(meeting: Meeting, gone: Entry) -> None:
    by = meeting.people.steward
    with viewing_as(by.pk):
        end_event(by=by, event=meeting.event)
        gone.event.refresh_from_db()
        with pytest.raises(WrongState, match="over"):
            restore_entry(by=by, entry=gone)


def test_the_desk_says_withdrawn_with_the_way_back(
    client: Client, meeting: Meeting, gone: Entry
) -> None:
    client.force_login(meeting.people.official)
    text = client.get(f"/events/{meeting.event.pk}/desk", {"q": "27"}).content.decode()
    assert "withdrawn at" in text
    assert f"/entries/{gone.pk}/restore" in text
    assert "Add that car" not in text
    client.post(f"/entries/{gone.pk}/restore")
    page = client.get(f"/events/{meeting.event.pk}/desk", {"q": "27"})
    assert page.headers["Location"] == f"/entries/{gone.pk}/"


def test_the_tallies_do_not_follow_the_search(client: Client, meeting: Meeting) -> None:
    meeting.weigh("321")
    client.force_login(meeting.people.official)
    address = f"/events/{meeting.event.pk}/desk"
    whole, none = client.get(address), client.get(address, {"q": "99"})
    tally = whole.context["queue"].tally
    assert none.context["queue"].tally == tally
    assert sum(int(said.split()[0]) for said in tally) == 2
    assert none.context["queue"].rows == []
