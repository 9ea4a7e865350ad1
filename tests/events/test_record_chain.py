"""An event's chain of records: every record enters it as it is stored, and no lie does."""

import json
from collections.abc import Callable
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

import pytest
from django.db import DatabaseError, connection, transaction
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from clubsetup.access.errors import NotAllowed
from clubsetup.access.models import User
from clubsetup.access.viewer import viewing_as
from events.actions.draws import draw_cars
from events.actions.events import add_event_class, end_event, plan_event, start_event
from events.actions.scale_checks import LoadRead, check_scales
from events.actions.voiding import void_weigh_in
from events.models import Event, RecordChain, RecordLine, ScaleCheck, WeighIn
from events.records.actions.chain import enter_in_chain
from events.records.actions.export import export_records
from events.records.queries.lines import KINDS, contents_of
from events.records.queries.records import chain_end, records_of
from events.rules.chain import SALT, canonical, faults, line_of, start
from teams.actions.places import add_track
from tests.events.meeting import LAST_DAY, Meeting, mass
from tests.events.photographs import jpeg
from tests.events.test_ballast_checks import look
from tests.events.test_measuring import measured
from tests.events.test_records_stand import weigh_in_row
from tests.owner import bend
from tests.people import join


def check(meeting: Meeting) -> ScaleCheck:
    by = meeting.people.official
    loads = [LoadRead(pad, mass("80"), mass("80")) for pad in ("LF", "RF", "LR", "RR")]
    with viewing_as(by.pk):
        return check_scales(by=by, scale_set=meeting.scales, loads=loads, pads_level=True)


def kinds(meeting: Meeting, event: Event | None = None) -> list[str]:
    with viewing_as(meeting.people.official.pk):
        lines = RecordLine.objects.filter(chain__event=event or meeting.event).order_by("place")
        return list(lines.values_list("kind", flat=True))


DAYS: dict[str, Any] = {"starts_on": LAST_DAY, "ends_on": LAST_DAY}


def another_event(meeting: Meeting, *, started: bool = True, **more: Any) -> Event:
    by, club = meeting.people.steward, meeting.people.club
    with viewing_as(by.pk):
        event = plan_event(by=by, club=club, track=meeting.track, name="Practice", **DAYS, **more)
        add_event_class(by=by, event=event, race_class=meeting.race_class)
        return start_event(by=by, event=event, another_day=True) if started else event


def event_of_another_club(meeting: Meeting) -> Event:
    """Under way, and the official of the meeting is an official there too."""
    people = meeting.people
    by, club = people.other_steward, people.other_club
    join(by, people.official, club, "official")
    with viewing_as(by.pk):
        track = add_track(by=by, club=club, name="Marl Heath", surface="dirt")
        event = plan_event(by=by, club=club, track=track, name="Heats", **DAYS)
        Event.objects.filter(pk=event.pk).update(state=Event.State.UNDER_WAY)
    return event


# What enters, and when


def test_each_kind_enters_behind_what_it_was_found_on(meeting: Meeting) -> None:
    check(meeting)
    wrong = meeting.weigh("321")
    look(meeting, photo=jpeg())
    measured(meeting, "45")
    by = meeting.people.official
    with viewing_as(by.pk):
        draw_cars(by=by, event=meeting.event, seed="666", count=1, purpose="Fuel")
        void_weigh_in(by=by, weigh_in=wrong, reason="Not level")
    three = ["finding"] * 3
    assert kinds(meeting) == [
        "scale_check",
        *("weigh_in", *three),
        *("ballast_check", *three, "ballast_photo"),
        *("tech_reading", *three),
        "draw",
        *("void", *three),
    ]
    assert set(kinds(meeting)) == set(KINDS)
    with viewing_as(by.pk):
        rows = sum(model._default_manager.count() for model in KINDS.values())
        end = chain_end(meeting.event)
        assert (end.length, end.last_hash) == (rows, records_of(meeting.event).last_hash)


def test_the_chain_is_as_anyone_can_compute_it(meeting: Meeting) -> None:
    meeting.weigh("321", fuel_note="“full”")
    with viewing_as(meeting.people.official.pk):
        found = records_of(meeting.event)
        chain = RecordChain.objects.get(event=meeting.event)
    assert chain.head == canonical(found.head)
    assert faults(found.head, found.links, last=chain.last_hash) == []
    assert [link.text for link in found.links] == [canonical(link.record) for link in found.links]


def test_an_event_begins_with_an_empty_chain(meeting: Meeting) -> None:
    event = another_event(meeting, started=False)
    with viewing_as(meeting.people.official.pk):
        end = chain_end(event)
    head = {"format": "clubsetup records 1", "event": str(event.pk), "club": str(event.club_id)}
    assert (end.length, end.last_hash, end.last_at) == (0, start(head), None)


def test_a_check_of_the_scales_enters_every_event_of_the_club_under_way(meeting: Meeting) -> None:
    other, planned = another_event(meeting), another_event(meeting, started=False)
    elsewhere = event_of_another_club(meeting)
    check(meeting)
    assert kinds(meeting) == kinds(meeting, other) == ["scale_check"]
    assert kinds(meeting, planned) == kinds(meeting, elsewhere) == []


def test_two_checks_hold_the_chains_in_the_same_order(meeting: Meeting) -> None:
    """That of the ids: not the one in which the events were made, nor that of their last change."""
    first = another_event(meeting, event_id=UUID(int=1))
    with CaptureQueriesContext(connection) as queries:
        check(meeting)
    held = [q["sql"] for q in queries if "hold_chain" in q["sql"]]
    assert [first.pk.hex in sql.replace("-", "") for sql in held] == [True, False]


def test_words_stand_beside_their_line_each_time_under_another_salt(meeting: Meeting) -> None:
    for total in ("321", "322"):
        meeting.weigh(total, fuel_note="full")
    with viewing_as(meeting.people.official.pk):
        lines = RecordLine.objects.filter(chain__event=meeting.event, kind="weigh_in")
        first, second = (line.words or {} for line in lines.order_by("place"))
    assert first["fuel_note"] == second["fuel_note"] == "full"
    assert first[SALT] != second[SALT]
    assert len(bytes.fromhex(first[SALT])) == 32


def test_without_words_none_stand_beside_the_line(meeting: Meeting) -> None:
    look(meeting, photo=jpeg())
    with viewing_as(meeting.people.official.pk):
        photos = RecordLine.objects.filter(kind="ballast_photo")
        assert [photos.count(), photos.filter(words__isnull=True).count()] == [1, 1]


def test_an_earlier_check_enters_with_the_first_weigh_in_that_rests_on_it(meeting: Meeting) -> None:
    by = meeting.people.steward
    with viewing_as(by.pk):
        meeting.event = end_event(by=by, event=meeting.event)
    made = check(meeting)
    assert kinds(meeting) == []
    with viewing_as(by.pk):
        Event.objects.filter(pk=meeting.event.pk).update(state=Event.State.UNDER_WAY)
        meeting.entry.event.refresh_from_db()
    assert meeting.weigh("321").scale_check == made
    meeting.weigh("322")
    assert kinds(meeting).count("scale_check") == 1
    assert kinds(meeting)[:2] == ["scale_check", "weigh_in"]


def test_the_export_reads_lines_and_no_record(meeting: Meeting) -> None:
    """A column that is renamed, or a value that changes, alters no line: none is looked at."""
    check(meeting)
    meeting.weigh("321")
    with viewing_as(meeting.people.official.pk), CaptureQueriesContext(connection) as queries:
        records_of(meeting.event)
    tables = [model._meta.db_table for model in KINDS.values()]
    assert not [q["sql"] for q in queries for table in tables if f'"{table}"' in q["sql"]]


# Days are the club's


def test_two_time_zones_read_one_chain(meeting: Meeting) -> None:
    """The two are never on the same day: the check is of the event's day in one of them alone."""
    by, here, there = meeting.people.official, "Pacific/Kiritimati", "Pacific/Pago_Pago"
    check(meeting)
    with viewing_as(meeting.people.steward.pk):
        today = timezone.localdate(timezone=ZoneInfo(here))
        bend(meeting.event, starts_on=today, ends_on=today)
    texts = []
    for zone in (here, there):
        with viewing_as(by.pk), timezone.override(ZoneInfo(zone)):
            texts.append(export_records(by=by, event=meeting.event, kind="json"))
    assert texts[0] == texts[1]
    assert len(json.loads(texts[0])["records"]) == 1


# No lie


def append(event: UUID, kind: str, record: UUID, text: str) -> None:
    with transaction.atomic(), connection.cursor() as cursor:
        cursor.execute(
            "SELECT access.append_lines(%s, %s, %s::uuid[], %s, ARRAY[NULL]::jsonb[])",
            [event, [kind], [record], [text]],
        )


def stored(meeting: Meeting) -> tuple[WeighIn, dict[str, Any]]:
    """A weigh-in without a line, and what its line would say."""
    row = WeighIn.objects.create(**weigh_in_row(meeting, meeting.people.official))
    return row, contents_of([row])[0]


LIES: dict[str, Callable[[dict[str, Any]], None]] = {
    "another weight": lambda said: said.update(total="150"),
    "a figure left out": lambda said: said.pop("u_total"),
    "a figure more": lambda said: said.update(fuel_note="full"),
    "another driver": lambda said: said.update(driver_in=1),
    "another time": lambda said: said.update(created_at="2026-06-06T10:00:00.000000+00:00"),
    "another person": lambda said: said.update(by=said["club"]),
    "another kind": lambda said: said.update(kind="finding"),
}


@pytest.mark.parametrize("lie", sorted(LIES))
def test_a_line_that_says_another_thing_than_its_record_is_refused(
    meeting: Meeting, lie: str
) -> None:
    with viewing_as(meeting.people.official.pk), transaction.atomic():
        row, said = stored(meeting)
        LIES[lie](said)
        with pytest.raises(DatabaseError, match=r"not as recorded|not its kind"):
            append(meeting.event.pk, "weigh_in", row.pk, line_of(said, 1))
        transaction.set_rollback(True)


def test_the_truth_is_taken_once_at_its_place_and_in_its_event(meeting: Meeting) -> None:
    other = another_event(meeting)
    with viewing_as(meeting.people.official.pk), transaction.atomic():
        row, said = stored(meeting)
        with pytest.raises(DatabaseError, match="not its kind, its place"):
            append(meeting.event.pk, "weigh_in", row.pk, line_of(said, 2))
        with pytest.raises(DatabaseError, match="a record of another event"):
            append(other.pk, "weigh_in", row.pk, line_of(said, 1))
        with pytest.raises(DatabaseError, match="no such record"):
            append(meeting.event.pk, "weigh_in", meeting.entry.pk, line_of(said, 1))
        with pytest.raises(DatabaseError, match="no such record"):
            append(meeting.event.pk, "entry", meeting.entry.pk, line_of(said, 1))
        append(meeting.event.pk, "weigh_in", row.pk, line_of(said, 1))
        with pytest.raises(DatabaseError, match="record_line_once"):
            append(meeting.event.pk, "weigh_in", row.pk, line_of(said, 2))


@pytest.mark.parametrize("name", ["steward", "chief", "other_official", "stranger"])
def test_only_an_official_of_the_club_enters_anything(meeting: Meeting, name: str) -> None:
    made = check(meeting)
    with viewing_as(getattr(meeting.people, name).pk):
        with pytest.raises(DatabaseError, match="only an official"):
            append(meeting.event.pk, "scale_check", made.pk, "{}")
        with pytest.raises(NotAllowed, match=r"^Only an official of the club may do this\.$"):
            enter_in_chain(meeting.event.pk, made)
        with connection.cursor() as cursor:
            cursor.execute("SELECT * FROM access.hold_chain(%s)", [meeting.event.pk])
            assert cursor.fetchall() == []


@pytest.mark.parametrize("name", ["official", "steward", "chief", "stranger"])
@pytest.mark.parametrize("model", [RecordChain, RecordLine])
def test_nobody_writes_past_the_function(
    meeting: Meeting, model: type[RecordChain] | type[RecordLine], name: str
) -> None:
    meeting.weigh("321")
    table = model._meta.db_table
    writes = [
        f"INSERT INTO {table} SELECT * FROM {table}",
        f"UPDATE {table} SET created_at = now()",
        f"DELETE FROM {table}",
        f"TRUNCATE {table} CASCADE",
        f"SELECT * FROM {table} FOR UPDATE",
    ]
    with viewing_as(getattr(meeting.people, name).pk):
        for write in writes:
            with pytest.raises(DatabaseError, match="permission denied"), transaction.atomic():
                connection.cursor().execute(write)


def test_officials_and_stewards_of_the_club_read_it(meeting: Meeting) -> None:
    meeting.weigh("321")

    def reads(who: User) -> bool:
        with viewing_as(who.pk):
            assert RecordChain.objects.exists() == RecordLine.objects.exists()
            return RecordLine.objects.exists()

    people = meeting.people
    assert reads(people.official)
    assert reads(people.steward)
    others = (people.chief, people.rival, people.coach, people.other_official, people.stranger)
    assert not any(reads(who) for who in others)


def test_a_record_stored_past_the_chain_is_refused(meeting: Meeting) -> None:
    with viewing_as(meeting.people.official.pk), transaction.atomic():
        stored(meeting)
        with pytest.raises(DatabaseError, match="without its line"), transaction.atomic():
            connection.cursor().execute("SET CONSTRAINTS ALL IMMEDIATE")
        transaction.set_rollback(True)


def test_a_weigh_in_does_not_enter_without_the_check_it_rests_on(meeting: Meeting) -> None:
    by = meeting.people.steward
    with viewing_as(by.pk):
        end_event(by=by, event=meeting.event)
    made = check(meeting)
    with viewing_as(meeting.people.official.pk), transaction.atomic():
        row = WeighIn.objects.create(
            **weigh_in_row(meeting, meeting.people.official), scale_check=made
        )
        with pytest.raises(DatabaseError, match="scale check that it rests on is not"):
            append(meeting.event.pk, "weigh_in", row.pk, line_of(contents_of([row])[0], 1))
        transaction.set_rollback(True)
