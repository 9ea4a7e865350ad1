"""7x and 7X are one number in a class; what was kept before stays and is named."""

from importlib import import_module
from typing import Any

import pytest
from django.apps import apps
from django.db import IntegrityError, connection, transaction

from cars.garage.actions.cars import add_car
from clubsetup.access.errors import Invalid
from clubsetup.access.viewer import viewing_as
from events.actions.entries import enter, renumber_entry
from events.models import Entry
from tests.events.meeting import Meeting

STEP = import_module("events.migrations.0016_one_number_in_any_case")


def another(meeting: Meeting, number: str) -> Entry:
    """A second car of the Wrens, entered in the same class under a number."""
    people = meeting.people
    with viewing_as(people.chief.pk):
        car = add_car(
            by=people.chief, team=people.team, number="900", chassis=meeting.car.chassis, name="Two"
        )
        return enter(
            by=people.chief,
            event_class=meeting.event_class,
            car=car,
            driver=meeting.driver,
            number=number,
        )


def renumbered(meeting: Meeting, number: str) -> Entry:
    with viewing_as(meeting.people.chief.pk):
        return renumber_entry(by=meeting.people.chief, entry=meeting.entry, number=number)


def test_a_letter_in_another_case_is_the_same_number(meeting: Meeting) -> None:
    renumbered(meeting, "7x")
    with pytest.raises(Invalid, match="has a number 7x already"):
        another(meeting, "7X")
    assert renumbered(meeting, "7X").number == "7X", "its own number, spelt anew"


@pytest.mark.parametrize("number", ["7xx", "x7", "1234", "7 x", "7-1", "12a4", "½"])
def test_a_new_number_is_digits_and_a_letter_at_most(meeting: Meeting, number: str) -> None:
    with pytest.raises(Invalid, match="one to three digits and at most one letter"):
        another(meeting, number)


@pytest.mark.parametrize("number", ["7", "07", "105", "105x", "12B"])
def test_usual_numbers_are_taken(meeting: Meeting, number: str) -> None:
    assert another(meeting, number).number == number


def test_two_at_once_make_one(meeting: Meeting) -> None:
    entry = another(meeting, "12b")
    with (
        viewing_as(meeting.people.chief.pk),
        pytest.raises(IntegrityError, match="entry_number_in_any_case"),
        transaction.atomic(),
    ):
        Entry.objects.filter(pk=meeting.entry.pk).update(number=entry.number.upper())


def test_numbers_kept_before_stay_and_are_named(
    meeting: Meeting, capsys: pytest.CaptureFixture[str]
) -> None:
    """The step of the migration, over rows as they were before it."""

    class Row:
        """An entry as the migration sees it."""

        def __init__(self, pk: int, number: str) -> None:
            self.pk, self.number = pk, number
            self.event_class_id = 1
            self.event_class, self.event = meeting.event_class, meeting.event

    rows = [Row(1, "7x"), Row(2, "12"), Row(3, "7X")]
    marked: list[Any] = []

    class Entries:
        """As a manager answers it."""

        def filter(self, **which: Any) -> "Entries":
            marked.extend(which.get("pk__in", ()))
            return self

        def select_related(self, *_: str) -> "Entries":
            return self

        def order_by(self, *_: str) -> list[Row]:
            return rows

        def update(self, **what: Any) -> None:
            assert what == {"shares_its_number": True}

        def using(self, _: str) -> "Entries":
            return self

    class Editor:
        """Names the connection."""

        connection = connection

    class Models:
        """Holds them."""

        @staticmethod
        def get_model(*_: str) -> Any:
            return type("Kept", (), {"objects": Entries()})

    STEP.mark_pairs(Models, Editor)
    assert marked == [3], "one of the pair keeps the index"
    assert [row.number for row in rows] == ["7x", "12", "7X"]
    assert "7x and 7X are one number by now" in capsys.readouterr().out
    assert apps.get_model("events", "Entry") is Entry
