"""The trail says on which car and sheet something was done, and no more than its reader may see."""

from decimal import Decimal

import pytest
from django.db import connection, transaction
from django.test.utils import CaptureQueriesContext

from cars.garage.actions.parts import add_part
from cars.models import Part, Sheet
from cars.sheets.actions.readings import take_typed
from cars.sheets.actions.set_sheet import note_change
from cars.sheets.actions.sheets import close_sheet, correct_sheet
from clubsetup.access.actions import record
from clubsetup.access.viewer import viewing_as
from teams.presenters.trail import club_trail, team_trail
from tests.cars.garage import Garage
from tests.people import People


@pytest.fixture
def sheet(garage: Garage, people: People) -> Sheet:
    with viewing_as(people.crew.pk):
        found = garage.sheet(people.crew)
        take_typed(by=people.crew, sheet=found, typed={"ride-height.LF": "2 1/4"})
    return found


def told(people: People) -> list[tuple[str, str]]:
    with viewing_as(people.crew.pk):
        return [(line.what, line.on) for line in team_trail(people.team).lines]


def test_a_line_names_the_car_and_the_sheet(people: People, sheet: Sheet) -> None:
    with viewing_as(people.crew.pk):
        note_change(
            by=people.crew,
            sheet=sheet,
            adjuster="spring-seat",
            spot="LF",
            amount=Decimal("0.5"),
            unit="turn",
        )
        correct_sheet(
            by=people.crew, sheet=close_sheet(by=people.crew, sheet=sheet), reason="Misread."
        )
    lines = told(people)
    assert ("took readings", "car 7 Blue, as found 14 Mar 2026") in lines
    assert ("corrected a sheet", "car 7 Blue, as found 14 Mar 2026, version 2") in lines
    assert any(what == "changed a sheet" and "as set" in on for what, on in lines)
    assert ("added a car", "car 7 Blue") in lines


@pytest.mark.parametrize(
    ("before", "now", "words"),
    [
        ("preferred", "set_own_target", "set one of the team's own targets"),
        ("dropped", "dropped_own_target", "dropped one of the team's own targets"),
    ],
)
def test_a_line_written_under_the_old_word_reads_the_same(
    people: People, garage: Garage, before: str, now: str, words: str
) -> None:
    with viewing_as(people.crew.pk), transaction.atomic():
        for did in (before, now):
            record(by=people.crew, did=did, on=garage.car, team_id=people.team.pk)
    assert told(people).count((words, "car 7 Blue")) == 2


def test_a_part_is_never_named(people: People, sheet: Sheet) -> None:
    with viewing_as(people.crew.pk):
        add_part(by=people.crew, team=people.team, sort=Part.Sort.SPRING, code="sky blue")
    assert [on for what, on in told(people) if "part" in what] == ["", ""]
    assert "sky blue" not in str(told(people))


def test_what_the_reader_may_not_see_has_no_name(people: People, sheet: Sheet) -> None:
    with viewing_as(people.steward.pk):
        names = [line.on for line in club_trail(people.club).lines]
    assert not any("car 7" in name for name in names)
    assert any("Osprey 6" in name for name in names), "the chassis is the club's own"


def test_three_sheets_are_named_with_as_many_questions_as_one(
    people: People, garage: Garage, sheet: Sheet
) -> None:
    def asked() -> int:
        with viewing_as(people.crew.pk), CaptureQueriesContext(connection) as queries:
            team_trail(people.team)
        return len(queries)

    one = asked()
    with viewing_as(people.crew.pk):
        for _ in range(2):
            garage.sheet(people.crew)
    assert asked() == one
