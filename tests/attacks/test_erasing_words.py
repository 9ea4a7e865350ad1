"""What officials write in words can be erased, and nobody can pretend that it was."""

import json
import re
from pathlib import Path

import pytest
from django.test import Client
from django.urls import reverse

from clubsetup.access.models import TrailLine, User
from clubsetup.access.viewer import viewing_as
from events.actions.voiding import void_weigh_in
from events.models import RecordLine
from events.records.actions.export import export_records
from events.records.queries.records import records_of
from tests.attacks.test_erasing_drivers import held_anywhere
from tests.events.desk.test_records import export, verify
from tests.events.meeting import Meeting, make_meeting
from tests.people import People, show_again

SAID = "Robin Marlowe was sick on the scales"


@pytest.fixture
def voided(people: People) -> Meeting:
    """A weigh-in out of force, with a reason that says too much."""
    meeting = make_meeting(people)
    weighed = meeting.weigh("321", fuel_note="full")
    with viewing_as(people.official.pk):
        void_weigh_in(by=people.official, weigh_in=weighed, reason=SAID)
    return meeting


def line_with(meeting: Meeting, kind: str) -> RecordLine:
    with viewing_as(meeting.people.official.pk):
        return RecordLine.objects.get(chain__event=meeting.event, kind=kind)


def erase(client: Client, meeting: Meeting, who: User, line: int) -> int:
    show_again(client, who)
    address = reverse("records-words", args=[meeting.event.pk])
    return client.post(address, {"line": line}).status_code


def test_a_new_line_holds_no_words(voided: Meeting) -> None:
    line = line_with(voided, "void")
    assert SAID not in line.text
    held = json.loads(line.text)
    assert held["format"] == 3
    assert set(held["reason"]) == {"sha256"}
    assert (line.words or {})["reason"] == SAID
    # Two records with the same words have other hashes: nobody finds short words by trying.
    with viewing_as(voided.people.official.pk):
        every = RecordLine.objects.filter(words__isnull=False).values_list("words__salt", flat=True)
        assert len(set(every)) == len(every) > 3


def test_readers_and_the_table_still_have_the_words(voided: Meeting, tmp_path: Path) -> None:
    text = export(voided, "json")
    assert SAID in text
    assert verify(tmp_path, text, "json")[0]
    assert SAID in export(voided, "csv")


def test_after_it_they_stand_nowhere_and_the_chain_holds(
    voided: Meeting, client: Client, tmp_path: Path
) -> None:
    line, people = line_with(voided, "void"), voided.people
    before = json.loads(export(voided, "json"))
    assert held_anywhere(people, "sick on the scales") == {
        "events_void.reason",
        "events_recordline.words",
        "access_trailline.detail",
    }
    assert erase(client, voided, people.steward, line.place) == 302
    assert held_anywhere(people, "sick on the scales") == set()
    text = export(voided, "json")
    after = json.loads(text)
    assert [r["hash"] for r in after["records"]] == [r["hash"] for r in before["records"]]
    assert [r["record"] for r in after["records"]] == [r["record"] for r in before["records"]]
    whole, said = verify(tmp_path, text, "json", printed=before["last"])
    assert whole
    assert "The words of 1 line were erased. Their hashes stand" in said
    # What somebody had taken away before still verifies too.
    assert verify(tmp_path, json.dumps(before), "json")[0]
    assert "Erased." not in export(voided, "csv")
    with viewing_as(people.steward.pk):
        assert TrailLine.objects.get(did="erased_words").detail == {"line": line.place}
    show_again(client, people.official)
    assert "Erased." in client.get(reverse("entry", args=[voided.entry.pk])).content.decode()


def test_other_words_than_were_hashed_are_found(voided: Meeting, tmp_path: Path) -> None:
    text = export(voided, "json")
    lie = text.replace(SAID, "Scales not level")
    whole, said = verify(tmp_path, lie, "json")
    assert not whole
    assert re.search(r"line \d+: the words beside it were altered: reason", said)


@pytest.mark.parametrize("who", ["official", "chief", "rival", "other_steward", "stranger"])
def test_nobody_but_a_steward_of_the_club_erases(voided: Meeting, client: Client, who: str) -> None:
    line = line_with(voided, "void")
    assert erase(client, voided, getattr(voided.people, who), line.place) in (403, 404)
    assert SAID in str(line_with(voided, "void").words)


def test_what_has_no_words_says_so(voided: Meeting, client: Client) -> None:
    show_again(client, voided.people.steward)
    address = reverse("records-words", args=[voided.event.pk])
    page = client.post(address, {"line": 999}).content.decode()
    assert "This line has no words that can be erased" in page
    line = line_with(voided, "void").place
    client.post(address, {"line": line})
    assert "This line has no words" in client.post(address, {"line": line}).content.decode()


def test_the_event_goes_on(voided: Meeting, client: Client) -> None:
    line, people = line_with(voided, "void"), voided.people
    erase(client, voided, people.steward, line.place)
    assert voided.weigh("322")
    with viewing_as(people.official.pk):
        found = records_of(voided.event)
        assert found.links[-1].number == len(found.links)
        assert export_records(by=people.official, event=voided.event, kind="json")
