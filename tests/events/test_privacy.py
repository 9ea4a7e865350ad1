"""An official never reaches a setup reading, a birth date or a driver's weight, by any path."""

import io
import itertools
import re
import zipfile
from collections import deque
from contextlib import suppress
from datetime import date
from typing import Any

import pytest
from django.apps import apps
from django.db import DatabaseError, connection, transaction
from django.test import Client

from cars.models import Car, Reading, Sheet
from cars.sheets.actions.readings import take_typed
from cars.sheets.actions.sheets import open_sheet
from clubsetup.access.models import User
from clubsetup.access.viewer import viewing_as
from teams.actions.drivers import log_driver_weight, set_birth_date
from teams.models import Driver, DriverBirth, DriverWeight
from tests.events.meeting import Meeting, make_meeting, mass
from tests.events.test_ballast_checks import look
from tests.people import People

# A reading, a birth date and a weight that stand nowhere else, as they may be written.
READING = ("17 13/16", "17 13⁄16", "17.8125", "452.4375")
BIRTH = ("2018-03-29", "Mar 29, 2018", "29 Mar 2018", "March 29, 2018", "29 March 2018")
WEIGHT = ("71.75", "32.545")
LEAKS = (*READING, *BIRTH, *WEIGHT)


@pytest.fixture
def meeting(people: People) -> Meeting:
    """The Wrens' car has a sheet, its driver a birth date and a weight; the car is weighed."""
    meeting = make_meeting(
        people,
        [
            ("minimum_weight", {"minimum": "145.1495584"}),
            ("driver_age", {"at_least": 5, "at_most": 9}),
            ("driver_weight_band", {"at_most": "45"}),
            ("length_limit", {"measure": "rear-bar", "at_least": "30"}),
            ("required_reading", {"measure": "rear-bar"}),
        ],
    )
    chief = people.chief
    with viewing_as(chief.pk):
        sheet = open_sheet(
            by=chief, car=meeting.car, role="found", made_on=date(2026, 6, 5), surface="paved"
        )
        take_typed(by=chief, sheet=sheet, typed={"rear-bar.left": READING[0]})
        set_birth_date(by=chief, driver=meeting.driver, birth_date=date(2018, 3, 29))
        log_driver_weight(
            by=chief, driver=meeting.driver, weighed_on=date(2026, 6, 1), mass=mass("71.75 lb")
        )
    meeting.weigh("321")
    look(meeting)
    return meeting


def leaks(text: str) -> list[str]:
    return [leak for leak in LEAKS if leak in text]


def every_visible_row(who: User) -> str:
    """All that a person may read of all tables, as text."""
    found = []
    with viewing_as(who.pk), connection.cursor() as cursor:
        for model in apps.get_models():
            # A table that the app's role may not read at all tells nobody anything.
            with suppress(DatabaseError), transaction.atomic():
                cursor.execute(f'SELECT t::text FROM "{model._meta.db_table}" t')
                found += [row[0] for row in cursor.fetchall()]
    return "\n".join(found)


def text_of(answer: Any) -> str:
    """What it says; of a packed file all that is in it."""
    content: bytes = answer.getvalue()
    if answer.headers["Content-Type"] == "application/zip":
        with zipfile.ZipFile(io.BytesIO(content)) as packed:
            content = b"".join(packed.read(name) for name in packed.namelist())
    return content.decode(errors="replace")


def reachable_pages(client: Client, start: str = "/", most: int = 150) -> dict[str, str]:
    """Every page that links lead to from the start page, by its address."""
    seen: dict[str, str] = {}
    queue = deque([start])
    while queue and len(seen) < most:
        where = queue.popleft()
        if where in seen or where.startswith(("/accounts/", "/static/", "/api/")):
            continue
        answer = client.get(where)
        seen[where] = text_of(answer) if answer.status_code == 200 else ""
        queue += [
            link.replace("&amp;", "&") for link in re.findall(r'href="(/[^"#]*)', seen[where])
        ]
    assert len(seen) < most
    return seen


def test_the_team_itself_reaches_all_of_it(meeting: Meeting) -> None:
    """So that the tests below can fail."""
    rows = every_visible_row(meeting.people.chief)
    for secret in (READING, BIRTH, WEIGHT):
        assert any(leak in rows for leak in secret)


@pytest.mark.parametrize("name", ["official", "steward"])
def test_no_row_of_any_table_tells_them(meeting: Meeting, name: str) -> None:
    who = getattr(meeting.people, name)
    assert leaks(every_visible_row(who)) == []
    with viewing_as(who.pk):
        for model in (Car, Sheet, Reading, Driver, DriverBirth, DriverWeight):
            assert not model._default_manager.exists()


@pytest.mark.parametrize("name", ["official", "steward"])
def test_no_page_that_they_can_click_to_tells_them(
    client: Client, meeting: Meeting, name: str
) -> None:
    client.force_login(getattr(meeting.people, name))
    pages = reachable_pages(client)
    assert f"/entries/{meeting.entry.pk}/" in pages
    told = {where: leaks(text) for where, text in pages.items()}
    assert {where: found for where, found in told.items() if found} == {}


@pytest.mark.parametrize("name", ["official", "steward"])
def test_no_list_of_the_api_tells_them(client: Client, meeting: Meeting, name: str) -> None:
    client.force_login(getattr(meeting.people, name))
    paths: dict[str, Any] = client.get("/api/v1/schema", {"format": "json"}).json()["paths"]
    event, entry = str(meeting.event.pk), str(meeting.entry.pk)
    asked = 0
    for path, operations in paths.items():
        if "get" not in operations:
            continue
        for known in (event, entry, str(meeting.car.pk), str(meeting.driver.pk)):
            answer = client.get(re.sub(r"{\w+}", known, path), {"number": "27"})
            asked += answer.status_code == 200
            assert leaks(answer.content.decode()) == [], path
            if "{" not in path:
                break
    assert asked > 10


def told(cursor: Any, asked: str, given: list[str]) -> str:
    """What the database answers, a refusal too; what it changes is undone."""
    with transaction.atomic():
        try:
            with transaction.atomic():
                cursor.execute(asked, given)
                answer = str(cursor.fetchall())
        except DatabaseError as refused:
            answer = str(refused)
        transaction.set_rollback(True)
    return answer


@pytest.mark.parametrize("name", ["official", "steward", "rival", "unlinked_coach", "stranger"])
def test_no_function_of_the_database_tells_them(meeting: Meeting, name: str) -> None:
    """Those that run as the owner, asked about everything by whoever can name its id."""
    with viewing_as(meeting.people.chief.pk):
        known = [meeting.event.pk, meeting.entry.pk, meeting.car.pk, meeting.driver.pk]
        known += [r.pk for r in meeting.rule_set.rules.all()]
    values = {"uuid": [str(pk) for pk in known], "text": ["27", "31"]}
    with viewing_as(getattr(meeting.people, name).pk), connection.cursor() as cursor:
        cursor.execute(
            "SELECT proname, proargtypes::regtype[]::text[] FROM pg_proc "
            "WHERE pronamespace = 'access'::regnamespace "
            "AND prorettype <> 'trigger'::regtype AND prosecdef "
            "AND has_function_privilege(oid, 'EXECUTE')"
        )
        functions = cursor.fetchall()
        assert len(functions) > 10
        for function, types in functions:
            if not set(types) <= values.keys():
                continue
            for given in itertools.product(*(values[t] for t in types)):
                marks = ", ".join(f"%s::{t}" for t in types)
                asked = f"SELECT f::text FROM access.{function}({marks}) f"
                assert leaks(told(cursor, asked, list(given))) == [], function


def test_what_rules_ask_of_a_setup_is_not_checked_from_it(meeting: Meeting) -> None:
    """The team measured it and an official has not: a finding takes nothing from a sheet."""
    outcomes = meeting.outcomes()
    assert outcomes["length_limit"] == outcomes["required_reading"] == "not_checked"
