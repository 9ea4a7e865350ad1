"""A run is tied to an entry where it is noted: by the team's crew, and no official sees it."""

import re
from datetime import datetime, timedelta
from typing import Any
from unittest.mock import patch

import pytest
from django.test import Client
from django.utils import timezone

from cars.models import Run
from cars.runs.actions.runs import RunFacts, note_run
from cars.runs.queries.run_entries import run_entries
from clubsetup.access.viewer import viewing_as
from events.actions.entry_runs import tie_run
from events.models import Entry, EntryRun
from teams.actions.places import add_track
from teams.actions.teams import link_coach
from tests.events.meeting import FIRST_DAY, Meeting
from tests.markup import one_line
from tests.people import browser_of

LABEL = "Entered in"
NAMED = "June Meeting, number 27"


@pytest.fixture
def saturday(meeting: Meeting) -> Any:
    """Noon of the meeting's first day."""
    zone = meeting.people.club.zone()
    noon = datetime.combine(FIRST_DAY, datetime.min.time(), zone) + timedelta(hours=12)
    with patch.object(timezone, "now", return_value=noon):
        yield noon


def ran(meeting: Meeting, **facts: Any) -> Run:
    by = meeting.people.chief
    with viewing_as(by.pk):
        return note_run(by=by, car=meeting.car, facts=RunFacts(surface="paved", **facts))


def offered(page: str) -> dict[str, str]:
    """What can be chosen, by its id, and under '' what is chosen."""
    found = re.search(r'<select name="entry_of_car".*?</select>', page, re.S)
    if found is None:
        return {}
    options = re.findall(r'<option value="([^"]*)"( selected)?>([^<]*)<', found[0])
    return {"chosen": next((v for v, on, _ in options if on), ""), **{v: t for v, _, t in options}}


def new_run(client: Client, meeting: Meeting, **sent: Any) -> Any:
    path = f"/cars/{meeting.car.pk}/track"
    page = client.get(path).content.decode()
    row_id = re.search(r'name="row_id" value="([^"]+)"', page)
    assert row_id
    given = {"row_id": row_id[1], "kind": "heat", "surface": "paved", **sent}
    return client.post(path, given)


def entry_of(meeting: Meeting, run: Any) -> str:
    with viewing_as(meeting.people.chief.pk):
        found = run_entries([run]).get(run)
        return found.text if found else ""


@pytest.mark.parametrize("who", ["chief", "crew"])
def test_the_one_entry_of_the_day_is_filled_in_and_tied(
    meeting: Meeting, saturday: Any, who: str
) -> None:
    client = browser_of(getattr(meeting.people, who))
    page = client.get(f"/cars/{meeting.car.pk}/track").content.decode()
    entry = str(meeting.entry.pk)
    assert offered(page) == {
        "chosen": entry,
        "": "None",
        entry: f"{NAMED}, {meeting.track}",
    }
    told = new_run(client, meeting, track=meeting.track.pk, entry_of_car=entry)
    with viewing_as(meeting.people.chief.pk):
        run = Run.objects.get()
    assert entry_of(meeting, run.pk) == NAMED
    page = one_line(client.get(told.headers["Location"]).content.decode())
    assert f"For {NAMED}" in page
    assert offered(page)["chosen"] == entry


def test_it_is_changed_on_the_runs_page(meeting: Meeting, saturday: Any) -> None:
    people, run = meeting.people, ran(meeting, track=meeting.track)
    client, path = browser_of(people.crew), f"/runs/{run.pk}/"
    entry = str(meeting.entry.pk)
    sent = {"kind": "practice", "surface": "paved", "track": str(meeting.track.pk)}
    hidden = {f"initial-{name}": value for name, value in sent.items()}
    assert offered(client.get(path).content.decode())["chosen"] == ""
    tie = {**sent, **hidden, "entry_of_car": entry, "initial-entry_of_car": ""}
    assert client.post(path, tie).status_code == 302
    assert entry_of(meeting, run.pk) == NAMED
    # Another change of the run leaves the entry as it is.
    note = {**tie, "initial-entry_of_car": entry, "note": "Quick."}
    assert client.post(path, note).status_code == 302
    assert entry_of(meeting, run.pk) == NAMED
    untie = {**sent, **hidden, "entry_of_car": "", "initial-entry_of_car": entry}
    assert client.post(path, untie).status_code == 302
    assert entry_of(meeting, run.pk) == ""
    with viewing_as(people.chief.pk):
        assert EntryRun.objects.count() == 1


def test_an_entry_of_another_track_or_of_nobody_is_refused_by_its_box(
    meeting: Meeting, saturday: Any
) -> None:
    people = meeting.people
    with viewing_as(people.steward.pk):
        other = add_track(by=people.steward, club=people.club, name="Sable Bowl", surface="dirt")
    client = browser_of(people.chief)
    sent = {"track": other.pk, "entry_of_car": meeting.entry.pk}
    answer = new_run(client, meeting, **sent)
    assert answer.status_code == 400
    page = one_line(answer.content.decode())
    assert f"That event is at {meeting.track}. Choose that track, or no entry." in page
    assert offered(page)["chosen"] == str(meeting.entry.pk)
    answer = new_run(client, meeting, entry_of_car=meeting.rival_entry.pk)
    assert answer.status_code == 400
    with viewing_as(people.chief.pk):
        assert not Run.objects.exists()


def test_on_another_day_none_is_offered(meeting: Meeting, saturday: datetime) -> None:
    client = browser_of(meeting.people.chief)
    with patch.object(timezone, "now", return_value=saturday - timedelta(days=1)):
        assert LABEL not in client.get(f"/cars/{meeting.car.pk}/track").content.decode()


def test_a_run_keeps_the_entry_of_another_day_until_somebody_changes_it(
    meeting: Meeting, saturday: datetime
) -> None:
    people = meeting.people
    with patch.object(timezone, "now", return_value=saturday - timedelta(days=1)):
        run = ran(meeting)
    with viewing_as(people.chief.pk):
        tie_run(by=people.chief, run=run, entry=Entry.objects.get(pk=meeting.entry.pk))
    page = browser_of(people.chief).get(f"/runs/{run.pk}/").content.decode()
    assert offered(page)["chosen"] == str(meeting.entry.pk)


@pytest.mark.parametrize(
    ("who", "reads", "writes"),
    [
        ("guest", True, False),
        ("coach", True, False),
        ("coach", True, True),
        ("official", False, False),
        ("steward", False, False),
        ("rival", False, False),
        ("stranger", False, False),
    ],
)
def test_who_reads_which_entry_a_run_was_for(
    meeting: Meeting, saturday: Any, who: str, reads: bool, writes: bool
) -> None:
    people = meeting.people
    run = ran(meeting, track=meeting.track)
    with viewing_as(people.chief.pk):
        tie_run(by=people.chief, run=run, entry=Entry.objects.get(pk=meeting.entry.pk))
        if writes:
            link_coach(by=people.chief, team=people.team, coach=people.coach, may_write=True)
    client = browser_of(getattr(people, who))
    answer = client.get(f"/runs/{run.pk}/")
    assert answer.status_code == (200 if reads else 404)
    page = answer.content.decode()
    assert (f"For {NAMED}" in one_line(page)) == reads
    # Who may not change the team's entry is offered none, a coach who notes runs too.
    assert offered(page) == {}
    sent = {"kind": "heat", "surface": "paved", "entry_of_car": "", "initial-entry_of_car": "x"}
    client.post(f"/runs/{run.pk}/", sent)
    assert entry_of(meeting, run.pk) == NAMED
    with viewing_as(getattr(people, who).pk):
        assert EntryRun.objects.exists() == reads
