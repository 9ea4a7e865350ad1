"""A record that stands a protest shows the club's wall clock; the chain does not move."""

import io
from datetime import UTC, datetime

import pytest
from django.test import Client
from django.urls import reverse
from pypdf import PdfReader

from clubsetup.access.viewer import viewing_as
from clubsetup.printing import store
from clubsetup.printing.actions.ask import ask_for_print
from clubsetup.printing.models import PrintJob
from clubsetup.printing.tasks import make_print
from events.actions.voiding import void_weigh_in
from events.records.queries.records import records_of
from tests.clocks import keep_time, stand_still
from tests.events.desk.test_records import kept  # noqa: F401 - a fixture
from tests.events.meeting import Meeting
from tests.people import join

CHICAGO, DENVER = "America/Chicago", "America/Denver"
# The night the clocks go back: half past one comes twice.
FIRST = datetime(2026, 11, 1, 6, 30, tzinfo=UTC)
SECOND = datetime(2026, 11, 1, 7, 30, tzinfo=UTC)


def weigh_twice(meeting: Meeting, monkeypatch: pytest.MonkeyPatch) -> None:
    """Two weighings an hour apart, at the same time by the wall clock; the first is void."""
    keep_time(meeting.people.steward, meeting.people.club, CHICAGO)
    stand_still(monkeypatch, FIRST)
    first = meeting.weigh("319")
    stand_still(monkeypatch, SECOND)
    meeting.weigh("321")
    by = meeting.people.official
    with viewing_as(by.pk):
        void_weigh_in(by=by, weigh_in=first, reason="Another car")


@pytest.fixture
def night(meeting: Meeting, monkeypatch: pytest.MonkeyPatch) -> Meeting:
    """The event after it."""
    weigh_twice(meeting, monkeypatch)
    return meeting


def page(meeting: Meeting, name: str, of: object, who: str = "official") -> str:
    client = Client()
    client.force_login(getattr(meeting.people, who))
    answer = client.get(reverse(name, args=[of]))
    assert answer.status_code == 200
    return answer.content.decode()


def printed(meeting: Meeting, document: str, who: str = "official") -> str:
    """As the worker makes it, outside any request."""
    by = getattr(meeting.people, who)
    with viewing_as(by.pk):
        job = ask_for_print(by=by, document=document, subject_id=meeting.event.pk)
    make_print(str(job.pk))
    with viewing_as(by.pk):
        done = PrintJob.objects.get(pk=job.pk)
    assert done.state == PrintJob.State.DONE
    assert done.stored_id is not None
    reader = PdfReader(io.BytesIO(store.path_of(done.stored_id).read_bytes()))
    return " ".join(" ".join(p.extract_text() for p in reader.pages).split())


def test_the_desk_tells_the_two_apart(night: Meeting) -> None:
    shown = page(night, "entry", night.entry.pk)
    assert "1 Nov 2026 01:30:00 CDT" in shown
    assert "1 Nov 2026 01:30:00 CST" in shown
    assert "UTC" not in shown


def test_the_book_of_the_worker_names_the_zone_once_and_tells_them_apart(night: Meeting) -> None:
    book = printed(night, "record-book")
    assert "CST, America/Chicago" in book
    assert "01:30:00 CDT" in book
    assert "UTC" not in book


def test_a_book_keeps_the_clock_of_its_club_whoever_asks(
    meeting: Meeting, monkeypatch: pytest.MonkeyPatch
) -> None:
    # Somebody of clubs in two zones reads pages in the service's zone; the book is the club's.
    people = meeting.people
    keep_time(people.other_steward, people.other_club, DENVER)
    join(people.other_steward, people.official, people.other_club, "coach")
    weigh_twice(meeting, monkeypatch)
    assert "1 Nov 2026 07:30:00 UTC" in page(meeting, "entry", meeting.entry.pk)
    assert "CST, America/Chicago" in printed(meeting, "record-book")


def test_a_family_reads_the_same_clock(night: Meeting) -> None:
    assert "1 Nov 2026 01:30:00 CST" in page(night, "entry", night.entry.pk, who="chief")


@pytest.mark.parametrize("zone", [CHICAGO, DENVER, "Asia/Kolkata"])
def test_chain_and_file_are_the_same_by_any_clock(kept: Meeting, zone: str) -> None:  # noqa: F811
    by = kept.people.official

    def told() -> tuple[str, str, str]:
        with viewing_as(by.pk):
            last = records_of(kept.event).last_hash
        client = Client()
        client.force_login(by)
        files = [
            b"".join(client.get(reverse("records-file", args=[kept.event.pk, kind])))
            for kind in ("json", "csv")
        ]
        return last, files[0].decode(), files[1].decode()

    before = told()
    keep_time(kept.people.steward, kept.people.club, zone)
    after = told()
    assert after[0] == before[0]
    assert after[1] == before[1]
    # The table is to be read, by the club's clock.
    assert f"Saved ({zone})" in after[2]
    assert "+00:00" in after[1]
