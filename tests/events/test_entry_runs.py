"""Which entry a run belongs to: the family's and its linked coach's, never the desk's."""

from datetime import date
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from cars.garage.actions.cars import add_car
from cars.models import Run
from cars.runs.actions.runs import RunFacts, note_run, strike_run
from cars.runs.queries.run_entries import RunEntry, run_entries
from clubsetup.access.errors import Invalid, NotAllowed, WrongState
from clubsetup.access.models import TrailLine, User
from clubsetup.access.viewer import viewing_as
from events.actions.entries import enter, withdraw_entry
from events.actions.entry_runs import tie_run
from events.actions.events import add_event_class, plan_event
from events.actions.rule_sets import add_rule, draft_rule_set, publish_rule_set
from events.models import Entry, EntryRun, Event
from teams.actions.places import add_race_class, add_track
from teams.actions.teams import link_coach
from tests.events.meeting import FIRST_DAY, LAST_DAY, Meeting
from tests.guards.world import refused
from tests.people import join


def ran(meeting: Meeting, by: User | None = None) -> Run:
    """A run of the Wrens' entered car."""
    by = by or meeting.people.chief
    with viewing_as(by.pk):
        return note_run(by=by, car=meeting.car, facts=RunFacts(surface="paved"))


def tied(meeting: Meeting, run: Run, entry: Entry | None, by: User | None = None) -> Any:
    by = by or meeting.people.chief
    with viewing_as(by.pk):
        return tie_run(by=by, run=run, entry=entry)


def put(who: User, run: Run, entry: Any) -> Any:
    client = Client()
    client.force_login(who)
    return client.put(f"/api/v1/runs/{run.pk}/entry", {"entry": entry}, "application/json")


def test_a_run_belongs_to_one_entry_and_what_stood_is_kept(meeting: Meeting) -> None:
    people, run = meeting.people, ran(meeting)
    with viewing_as(people.chief.pk):
        withdraw_entry(by=people.chief, entry=meeting.entry)
        again = enter(
            by=people.chief,
            event_class=meeting.event_class,
            car=meeting.car,
            driver=meeting.driver,
        )
    first = tied(meeting, run, meeting.entry)
    assert tied(meeting, run, meeting.entry) == first
    second = tied(meeting, run, again)
    with viewing_as(people.chief.pk):
        assert EntryRun.objects.current().get() == second
        assert EntryRun.objects.count() == 2
        found = run_entries([run.pk])[run.pk]
        assert (found.entry, found.text) == (again.pk, "June Meeting, number 27")
    client = Client()
    client.force_login(people.chief)
    assert "For June Meeting, number 27" in client.get(f"/runs/{run.pk}/").content.decode()
    assert tied(meeting, run, None) is None
    with viewing_as(people.chief.pk):
        assert run_entries([run.pk]) == {}
        lines = TrailLine.objects.filter(on_id=run.pk).order_by("created_at")
        assert [line.did for line in lines] == ["noted", "tied", "tied", "untied"]


def test_it_is_an_entry_of_the_car_that_ran(meeting: Meeting) -> None:
    people = meeting.people
    with viewing_as(people.chief.pk):
        other = add_car(by=people.chief, team=people.team, number="28", chassis=meeting.car.chassis)
        run = note_run(by=people.chief, car=other, facts=RunFacts(surface="paved"))
    with pytest.raises(Invalid) as refusal:
        tied(meeting, run, meeting.entry)
    assert refusal.value.field == "entry"
    with viewing_as(people.chief.pk):
        assert refused(
            lambda: EntryRun.objects.create(
                run=run, entry=meeting.entry, team=people.team, by=people.chief
            )
        )


def test_a_struck_run_belongs_to_what_it_did(meeting: Meeting) -> None:
    people, run = meeting.people, ran(meeting)
    tied(meeting, run, meeting.entry)
    with viewing_as(people.chief.pk):
        strike_run(by=people.chief, run=run, reason="Noted twice.")
    with pytest.raises(WrongState, match="struck"):
        tied(meeting, run, None)


def test_who_may_note_the_run_and_change_the_entry_ties_them(meeting: Meeting) -> None:
    people, run = meeting.people, ran(meeting)
    with viewing_as(people.chief.pk):
        link_coach(by=people.chief, team=people.team, coach=people.unlinked_coach, may_write=True)
    for who in ("guest", "coach", "unlinked_coach", "official", "steward", "rival", "stranger"):
        with pytest.raises(NotAllowed):
            tied(meeting, run, meeting.entry, getattr(people, who))
    assert tied(meeting, run, meeting.entry, people.crew)
    # A coach whom the team lets write, and who stands at the desk too.
    join(people.steward, people.unlinked_coach, people.club, "official")
    assert tied(meeting, run, None, people.unlinked_coach) is None
    assert tied(meeting, run, meeting.entry, people.unlinked_coach)


READS = ("chief", "crew", "guest", "coach")
BLIND = ("official", "steward", "other_official", "unlinked_coach", "rival", "stranger")


def test_an_official_sees_of_a_drivers_runs_nothing(meeting: Meeting) -> None:
    people, run = meeting.people, ran(meeting)
    tied(meeting, run, meeting.entry)
    for name in READS:
        with viewing_as(getattr(people, name).pk):
            assert EntryRun.objects.count() == 1, name
    for name in BLIND:
        with viewing_as(getattr(people, name).pk):
            assert EntryRun.objects.count() == 0, name
            assert run_entries([run.pk]) == {}
    client = Client()
    client.force_login(people.official)
    entry = client.get(f"/api/v1/entries/{meeting.entry.pk}").json()
    assert str(run.pk) not in str(entry)
    assert "runs" not in entry


def test_the_api_ties_a_run_and_shows_its_entry(meeting: Meeting) -> None:
    people, run, entry = meeting.people, ran(meeting), meeting.entry
    assert put(people.crew, run, str(entry.pk)).json() == {"entry": str(entry.pk)}
    client = Client()
    client.force_login(people.coach)
    shown = {"id": str(entry.pk), "text": "June Meeting, number 27"}
    assert client.get(f"/api/v1/runs/{run.pk}").json()["entry"] == shown
    assert client.get("/api/v1/runs").json()["results"][0]["entry"] == shown
    refusal = put(people.crew, run, str(meeting.rival_entry.pk))
    assert refusal.status_code == 400
    assert refusal.json()["errors"][0]["pointer"] == "#/entry"
    codes = {name: put(getattr(people, name), run, None).status_code for name in (*READS, *BLIND)}
    assert codes == {
        **dict.fromkeys(("chief", "crew"), 200),
        **dict.fromkeys(("guest", "coach"), 403),
        **dict.fromkeys(BLIND, 404),
    }


def test_as_many_queries_for_one_run_as_for_three(meeting: Meeting) -> None:
    client = Client()
    client.force_login(meeting.people.chief)

    def asked() -> int:
        with CaptureQueriesContext(connection) as seen:
            rows = client.get("/api/v1/runs").json()["results"]
        assert all(row["entry"] for row in rows)
        return len(seen)

    tied(meeting, ran(meeting), meeting.entry)
    asked()  # what is read once a process is read here
    one = asked()
    for _ in range(2):
        tied(meeting, ran(meeting), meeting.entry)
    assert asked() == one


def test_of_an_event_that_the_reader_does_not_see_the_number_alone_is_told(
    meeting: Meeting,
) -> None:
    """The chief, in another club too, enters the car there: the team reads the entry, and only
    whoever is in that club its event."""
    people, run = meeting.people, ran(meeting)
    steward, club = people.other_steward, people.other_club
    join(steward, people.chief, club, "coach")
    with viewing_as(steward.pk):
        event = plan_event(
            by=steward,
            club=club,
            track=add_track(by=steward, club=club, name="Heath Oval", surface="paved"),
            name="Heath Night",
            starts_on=FIRST_DAY,
            ends_on=LAST_DAY,
        )
        race_class = add_race_class(by=steward, club=club, name="Open")
        rules = draft_rule_set(by=steward, race_class=race_class, valid_from=date(2026, 1, 1))
        add_rule(by=steward, rule_set=rules, kind="ballast_marked", parameters={})
        publish_rule_set(by=steward, rule_set=rules)
        event_class = add_event_class(by=steward, event=event, race_class=race_class)
    with viewing_as(people.chief.pk):
        entry = enter(
            by=people.chief, event_class=event_class, car=meeting.car, driver=meeting.driver
        )
    tied(meeting, run, entry)
    for who, text in (("chief", "Heath Night, number 27"), ("guest", "number 27")):
        with viewing_as(getattr(people, who).pk):
            assert Event.objects.filter(pk=event.pk).exists() == (who == "chief")
            assert run_entries([run.pk])[run.pk] == RunEntry(entry.pk, text)
    client = Client()
    client.force_login(people.guest)
    shown = client.get(f"/api/v1/runs/{run.pk}").json()
    assert shown["entry"] == {"id": str(entry.pk), "text": "number 27"}
    assert "Heath Night" not in str(shown)
