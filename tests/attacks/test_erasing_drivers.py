"""What is left of a child after the family has it erased, in every table and every file."""

from dataclasses import replace
from datetime import date
from decimal import Decimal
from pathlib import Path
from uuid import UUID

import pytest
from django.db import DatabaseError, connection, transaction
from django.test import Client
from django.urls import reverse

from cars.history.actions.advice import leave_advice, reply_to_advice
from cars.models import Comment, Laps, Reading, Run, RunDetails, Sheet
from cars.runs.actions.runs import RunFacts, TimedLaps, note_run, strike_run
from cars.runs.actions.suggestions import add_suggestion, draft_suggestions
from cars.sheets.actions.comments import add_comment
from cars.sheets.actions.readings import take_typed
from cars.sheets.actions.sheets import close_sheet, open_sheet
from clubsetup.access.models import TrailLine, User
from clubsetup.access.viewer import viewing_as
from clubsetup.printing import store
from clubsetup.printing.actions.ask import ask_for_print
from clubsetup.printing.models import PrintJob, StoredPrint
from clubsetup.printing.work import make_print
from events.models import AgeAnswer, Entry
from events.queries.facts import answer_age
from events.queries.published import start_list
from events.records.queries.records import records_of
from events.rules.chain import faults
from teams.actions.drivers import log_driver_weight, set_birth_date
from teams.models import Driver, DriverBirth, DriverWeight
from tests.clocks import database_at
from tests.events.meeting import ON_THE_DAY, RULES, Meeting, make_meeting, mass
from tests.guards.world import TIGHTER
from tests.people import People, show_again

NAME = "Robin"
AGE = ("driver_age", {"at_least": 8})
BORN = date(2015, 3, 29)


@pytest.fixture
def known(people: People) -> Meeting:
    """A meeting whose driver the service knows all there is to know of."""
    meeting = make_meeting(people, [*RULES, AGE])
    chief = people.chief
    with viewing_as(people.coach.pk):
        says = "Robin lifts too early: look at the pedal."
        advice = leave_advice(by=people.coach, car=meeting.car, text=says)
    with viewing_as(chief.pk):
        set_birth_date(by=chief, driver=meeting.driver, birth_date=BORN)
        log_driver_weight(
            by=chief, driver=meeting.driver, weighed_on=date(2026, 5, 1), mass=mass("81.25 lb")
        )
        sheet = open_sheet(
            by=chief,
            car=meeting.car,
            role="found",
            surface="paved",
            driver=meeting.driver,
            note="ROBIN says it pushes. Robinson was here.",
        )
        take_typed(by=chief, sheet=sheet, typed={"rear-rod-holes.left": "as Robin likes it"})
        add_comment(by=chief, sheet=sheet, text="robin's seat moved")
        close_sheet(by=chief, sheet=sheet)
        note_run(
            by=chief,
            car=meeting.car,
            facts=RunFacts(
                driver=meeting.driver,
                surface="paved",
                note="Robin braked late.",
                damage="Robin hit the wall",
            ),
            laps=TimedLaps([Decimal("7.5")], [""], "hand", "Robin 7.5"),
        )
        reply_to_advice(by=chief, advice=advice, text="Robin's seat is in.")
        twice = note_run(by=chief, car=meeting.car, facts=RunFacts(surface="paved"))
        strike_run(by=chief, run=twice, reason="robin's run, noted twice")
        own = draft_suggestions(
            by=chief, club=people.club, team=people.team, note="As Robin likes it."
        )
        said = replace(
            TIGHTER, why="Robin pushes less.", caution="Ask Robin.", source_note="Robin's runs"
        )
        add_suggestion(by=chief, table=own, given=said)
    meeting.weigh("321", fuel_note="full")
    with viewing_as(people.official.pk), database_at(ON_THE_DAY):
        assert answer_age(meeting.entry.pk)
    return meeting


def post(client: Client, who: User, driver: UUID) -> int:
    show_again(client, who)
    return client.post(reverse("driver-erase", args=[driver])).status_code


def holding(text: str) -> set[str]:
    """Every table.column of the service in which a text stands, read as the owner."""
    found = set()
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT table_name, column_name FROM information_schema.columns "
            "WHERE table_schema = 'public' AND table_name ~ '^(access|teams|cars|events|printing)_'"
        )
        columns = cursor.fetchall()
    for table, column in columns:
        with connection.cursor() as cursor:
            cursor.execute(
                f'SELECT EXISTS (SELECT FROM {table} WHERE "{column}"::text ~* %s)',
                [rf"(?<![[:alnum:]]){text}(?![[:alnum:]])"],
            )
            if cursor.fetchone()[0]:
                found.add(f"{table}.{column}")
    return found


def held_anywhere(people: People, text: str) -> set[str]:
    """As whoever of the cast sees it."""
    everybody = [value for value in vars(people).values() if isinstance(value, User)]
    found = set()
    for who in everybody:
        with viewing_as(who.pk):
            found |= holding(text)
    return found


def test_the_page_says_what_goes_and_what_stays(known: Meeting, client: Client) -> None:
    show_again(client, known.people.chief)
    page = client.get(reverse("driver-erase", args=[known.driver.pk])).content.decode()
    for said in (
        "birth date and 1 line of the weight log",
        "officials were told of the age: 1 answer",
        "on 1 sheet and in 1 run",
        "1 entry with number and the display name",
        "Keep the driver",
    ):
        assert said in " ".join(page.split()), said
    with viewing_as(known.people.chief.pk):
        assert Driver.objects.filter(pk=known.driver.pk).exists()


def test_nothing_of_the_child_is_left_but_the_official_name(known: Meeting, client: Client) -> None:
    people = known.people
    before = held_anywhere(people, NAME)
    assert {"teams_driver.display_name", "cars_sheet.note", "cars_comment.text"} <= before
    assert {"cars_advice.text", "cars_advicereply.text"} <= before
    assert held_anywhere(people, "2015-03-29") == {"teams_driverbirth.birth_date"}
    assert post(client, people.chief, known.driver.pk) == 302
    assert held_anywhere(people, NAME) == {"events_entry.display_name"}
    assert held_anywhere(people, "2015-03-29") == set()
    assert held_anywhere(people, "81.25 lb") == set()
    for who in (people.chief, people.official, people.coach):
        with viewing_as(who.pk):
            assert not Driver.objects.exists() or who is not people.chief
            assert not DriverBirth.objects.exists()
            assert not DriverWeight.objects.exists()
            assert not AgeAnswer.objects.exists()


def test_notes_name_nobody_and_other_words_stay(known: Meeting, client: Client) -> None:
    post(client, known.people.chief, known.driver.pk)
    with viewing_as(known.people.chief.pk):
        sheet = Sheet.objects.get()
        assert sheet.note == "the driver says it pushes. Robinson was here."
        assert (sheet.state, sheet.driver) == ("closed", None)
        assert Reading.objects.get().typed == "as the driver likes it"
        assert Comment.objects.get().text == "the driver's seat moved"


def test_a_run_stays_for_the_car_and_names_nobody(known: Meeting, client: Client) -> None:
    post(client, known.people.chief, known.driver.pk)
    with viewing_as(known.people.chief.pk):
        details, laps = RunDetails.objects.exclude(note="").get(), Laps.objects.get()
        assert (details.driver, details.note) == (None, "the driver braked late.")
        assert details.damage == "the driver hit the wall"
        assert (laps.times, laps.typed) == ([Decimal("7.500")], "the driver 7.5")
        struck = Run.objects.exclude(struck_reason="").get()
        assert struck.struck_reason == "the driver's run, noted twice"


def test_official_records_stand_and_the_chain_holds(known: Meeting, client: Client) -> None:
    people = known.people
    with viewing_as(people.official.pk):
        was = records_of(known.event)
    post(client, people.chief, known.driver.pk)
    with viewing_as(people.official.pk):
        now = records_of(known.event)
        assert (now.links, now.last_hash) == (was.links, was.last_hash)
        assert faults(now.head, now.links, last=now.last_hash) == []
        entry = Entry.objects.get(pk=known.entry.pk)
        assert (entry.number, entry.display_name, entry.driver_id) == ("27", NAME, None)
        assert ("27", NAME) in {
            (one.number, one.display_name) for one in start_list(known.event.pk)
        }
        assert known.weigh("322")
    show_again(client, people.official)
    assert client.get(reverse("entry", args=[known.entry.pk])).status_code == 200


def test_no_age_is_answered_after_it(known: Meeting, client: Client) -> None:
    post(client, known.people.chief, known.driver.pk)
    with viewing_as(known.people.official.pk), database_at(ON_THE_DAY):
        assert answer_age(known.entry.pk) is None


def test_the_trail_keeps_that_it_happened_without_the_name(known: Meeting, client: Client) -> None:
    chief = known.people.chief
    post(client, chief, known.driver.pk)
    with viewing_as(chief.pk):
        line = TrailLine.objects.get(did="erased")
        assert (line.on_id, line.by_id, line.detail) == (known.driver.pk, chief.pk, {})
    page = client.get(reverse("team-trail", args=[known.people.team.pk])).content.decode()
    assert "erased a driver" in page
    assert NAME not in page


@pytest.mark.parametrize("who", ["crew", "guest", "coach", "steward", "official", "rival"])
def test_nobody_but_a_chief_erases(known: Meeting, client: Client, who: str) -> None:
    by = getattr(known.people, who)
    assert post(client, by, known.driver.pk) in (403, 404)
    with viewing_as(by.pk), connection.cursor() as cursor:
        cursor.execute("SELECT access.erase_driver(%s)", [known.driver.pk])
        assert cursor.fetchone() == (None,)
        cursor.execute("SELECT * FROM access.held_of_driver(%s)", [known.driver.pk])
        assert cursor.fetchall() == []
    with viewing_as(known.people.chief.pk):
        assert Driver.objects.filter(pk=known.driver.pk).exists()


def test_the_role_passes_no_lock_of_a_closed_sheet(known: Meeting, client: Client) -> None:
    """What lets the erasure past it is not the role's to write, nor left behind."""
    with viewing_as(known.people.chief.pk):
        for attempt in (
            "INSERT INTO access.erasing VALUES (pg_current_xact_id())",
            "SELECT * FROM access.erasing",
            "SELECT access.remove_prints('{}')",
        ):
            with pytest.raises(DatabaseError, match="permission denied"), transaction.atomic():
                connection.cursor().execute(attempt)
    post(client, known.people.chief, known.driver.pk)
    with (
        viewing_as(known.people.chief.pk),
        pytest.raises(DatabaseError, match="is closed"),
        transaction.atomic(),
    ):
        Sheet.objects.update(note="other")


def test_stored_prints_go_with_their_files(known: Meeting, client: Client) -> None:
    people = known.people
    jobs = []
    for who, document, subject in (
        (people.chief, "sheet", known.entry.car.sheets),
        (people.official, "tech-card", known.entry),
        (people.official, "weigh-in-list", known.event),
    ):
        with viewing_as(who.pk):
            of = subject if hasattr(subject, "pk") else subject.get()
            jobs.append(ask_for_print(by=who, document=document, subject_id=of.pk))
        make_print(jobs[-1].pk)
    files = []
    for job in jobs:
        with viewing_as(job.asked_by_id):
            files.append(store.path_of(str(PrintJob.objects.get(pk=job.pk).stored_id)))
    assert all(Path(file).is_file() for file in files)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(transaction, "on_commit", lambda run: run())
        post(client, people.chief, known.driver.pk)
    assert not any(Path(file).exists() for file in files)
    for who in (people.chief, people.official):
        with viewing_as(who.pk):
            assert not PrintJob.objects.exists()
            assert not StoredPrint.objects.exists()


def test_over_the_api_it_is_one_call(known: Meeting, client: Client) -> None:
    show_again(client, known.people.chief)
    address = reverse("api-driver-detail", args=[known.driver.pk])
    assert client.delete(address).status_code == 204
    assert client.delete(address).status_code == 404


def test_no_words_of_a_team_are_forgotten(db: None) -> None:
    """Every text column of a table with a team is one that erasing looks at, or holds no words."""
    none = {"state", "role", "surface", "spot", "unit", "sort", "rate_typed", "code", "number"}
    none |= {
        "wanted_typed",
        "fuel_typed",
        "target_typed",
        "tolerance_typed",
        "mass_typed",
        "marked_mass_typed",
    }
    none |= {
        "did",
        "on_kind",
        "digest",
        "measure_id",
        "adjuster",
        "stage",
        "outcome",
        "typed",
        "when_weighed",
    }
    none |= {"kind", "surface_state", "said_by", "entry", "middle", "exit", "hands", "steering"}
    none |= {"timed_by", "pressure_of", "per", "history"}
    # A team's name.
    none |= {"to_name"}
    named = {"teams_driver.display_name", "events_entry.display_name", "cars_ballastpiece.label"}
    official = {"events_finding", "events_void", "events_weighin", "events_ballastcheck"}
    official |= {"events_techreading", "events_ballastphoto"}
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT c.table_name, c.column_name, p.prosrc LIKE '%UPDATE ' || c.table_name || '%'"
            "  AND p.prosrc ~ (c.column_name || ' = access.without_name') "
            "FROM information_schema.columns c, (SELECT string_agg(prosrc, '') AS prosrc"
            "  FROM pg_proc WHERE proname ~ '^forget_driver_in_') p "
            "WHERE c.table_schema = 'public' AND c.data_type IN ('text', 'character varying') "
            "AND EXISTS (SELECT FROM information_schema.columns t WHERE t.table_schema = 'public'"
            "  AND t.table_name = c.table_name AND t.column_name = 'team_id')"
        )
        rows = cursor.fetchall()
    forgotten = {
        f"{table}.{column}"
        for table, column, covered in rows
        if not covered and column not in none and table not in official
    }
    assert forgotten - named == set()
