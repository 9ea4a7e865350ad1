"""Two people at one bench: nobody overwrites what they never saw, and nothing is lost."""

import threading
import time
from collections.abc import Callable
from typing import Any
from uuid import UUID

import pytest
from django.db import connection, connections

from cars.catalogue.keys import Key
from cars.figures.box_entries import read_entry
from cars.models import Measure, Reading, Sheet
from cars.sheets.actions.conflicts import EditConflict
from cars.sheets.actions.readings import take_typed
from cars.sheets.actions.replacing import put_back_reading, replace_reading
from cars.sheets.actions.sheets import close_sheet
from clubsetup.access.errors import NotAllowed, WrongState
from clubsetup.access.ids import new_id
from clubsetup.access.models import TrailLine, User
from clubsetup.access.viewer import viewing_as
from clubsetup.quantities.units import Units
from tests.cars.bench.conftest import Standing
from tests.cars.garage import Garage
from tests.people import People

LF = Key("ride-height", "LF")


def take(
    by: User, sheet: Sheet, text: str, seen: UUID | None = None, **given: Any
) -> Reading | None:
    """Takes the left front ride height, as `by` looking at `seen`."""
    again = given.pop("again", False)
    with viewing_as(by.pk):
        measure = Measure.objects.get(pk="ride-height")
        entry = read_entry(measure, LF, text, Units.imperial(), given.get("reading_id"))
        return replace_reading(by=by, sheet=sheet, entry=entry, seen=seen, again=again)


def back(by: User, sheet: Sheet, seen: UUID | None) -> Reading:
    with viewing_as(by.pk):
        return put_back_reading(by=by, sheet=sheet, key=LF, seen=seen)


def pk_of(reading: Reading | None) -> UUID:
    assert reading is not None
    return reading.pk


def test_what_was_seen_is_replaced(people: People, sheet: Sheet, standing: Standing) -> None:
    first = take(people.crew, sheet, "2 1/4")
    take(people.chief, sheet, "2 3/8", seen=pk_of(first))
    assert standing() == {"ride-height.LF": "2 3/8"}


def test_what_was_not_seen_is_not_overwritten(
    people: People, sheet: Sheet, standing: Standing
) -> None:
    theirs = take(people.chief, sheet, "2 3/8")
    with pytest.raises(EditConflict, match=r"Chief wrote 2 3/8") as refusal:
        take(people.crew, sheet, "2 1/4")
    assert refusal.value.standing == theirs
    assert standing() == {"ride-height.LF": "2 3/8"}
    # Now it was seen.
    take(people.crew, sheet, "2 1/4", seen=pk_of(theirs))
    assert standing() == {"ride-height.LF": "2 1/4"}


def test_what_somebody_emptied_is_not_filled_unseen(
    people: People, sheet: Sheet, standing: Standing
) -> None:
    first = take(people.crew, sheet, "2 1/4")
    take(people.chief, sheet, "", seen=pk_of(first))
    with pytest.raises(EditConflict, match="Chief emptied this box") as refusal:
        take(people.crew, sheet, "2 3/8", seen=pk_of(first))
    assert refusal.value.by == people.chief
    assert standing() == {}


def test_nor_is_what_was_not_seen_emptied(people: People, sheet: Sheet, standing: Standing) -> None:
    first = take(people.crew, sheet, "2 1/4")
    take(people.chief, sheet, "2 3/8", seen=pk_of(first))
    with pytest.raises(EditConflict):
        take(people.crew, sheet, "", seen=pk_of(first))
    assert standing() == {"ride-height.LF": "2 3/8"}


def test_two_who_read_the_same_do_not_quarrel(people: People, sheet: Sheet) -> None:
    theirs = take(people.chief, sheet, "2 3/8")
    assert take(people.crew, sheet, "2 3/8") == theirs
    with viewing_as(people.crew.pk):
        assert sheet.readings.count() == 1


def test_the_same_figure_in_another_unit_is_put_to_them(people: People, sheet: Sheet) -> None:
    take(people.chief, sheet, "2 1/4")
    with pytest.raises(EditConflict):
        take(people.crew, sheet, "57.15 mm")


def test_sent_twice_makes_one_even_if_replaced_since(
    people: People, sheet: Sheet, standing: Standing
) -> None:
    mine = new_id()
    first = take(people.crew, sheet, "2 1/4", reading_id=mine)
    assert pk_of(first) == mine
    assert take(people.crew, sheet, "2 1/4", reading_id=mine) == first
    take(people.chief, sheet, "2 3/8", seen=mine)
    # The answer was lost on the way and the phone sends again: theirs stands.
    take(people.crew, sheet, "2 1/4", reading_id=mine)
    assert standing() == {"ride-height.LF": "2 3/8"}
    with viewing_as(people.crew.pk):
        assert sheet.readings.count() == 2


def test_an_id_is_not_used_for_something_else(people: People, sheet: Sheet) -> None:
    mine = new_id()
    take(people.crew, sheet, "2 1/4", reading_id=mine)
    with pytest.raises(WrongState, match="other content"):
        take(people.crew, sheet, "2 3/8", seen=mine, reading_id=mine)


def test_read_again_and_the_same_is_a_new_reading(people: People, sheet: Sheet) -> None:
    first = take(people.crew, sheet, "2 1/4")
    assert take(people.crew, sheet, "2 1/4", seen=pk_of(first)) == first
    second = take(people.crew, sheet, "2 1/4", seen=pk_of(first), again=True)
    assert second != first
    assert second is not None
    assert second.typed == "2 1/4"


class TestUndo:
    def test_brings_the_replaced_reading_back_as_a_new_one(
        self, people: People, sheet: Sheet, standing: Standing
    ) -> None:
        first = take(people.crew, sheet, "2 1/4")
        second = take(people.crew, sheet, "57 mm", seen=pk_of(first))
        third = back(people.crew, sheet, pk_of(second))
        assert standing() == {"ride-height.LF": "2 1/4"}
        assert third.pk not in {pk_of(first), pk_of(second)}
        assert first is not None
        assert (third.value, third.unit, third.resolution) == (
            first.value,
            first.unit,
            first.resolution,
        )
        # When it was really read, not when it was put back.
        assert third.taken_at == first.taken_at
        with viewing_as(people.crew.pk):
            assert sheet.readings.count() == 3
            assert TrailLine.objects.filter(on_id=sheet.pk, did="took").count() == 3

    def test_twice_brings_the_other_one_back(
        self, people: People, sheet: Sheet, standing: Standing
    ) -> None:
        first = take(people.crew, sheet, "2 1/4")
        second = take(people.crew, sheet, "2 3/8", seen=pk_of(first))
        third = back(people.crew, sheet, pk_of(second))
        back(people.crew, sheet, third.pk)
        assert standing() == {"ride-height.LF": "2 3/8"}

    def test_brings_back_what_was_emptied(
        self, people: People, sheet: Sheet, standing: Standing
    ) -> None:
        first = take(people.crew, sheet, "2 1/4")
        take(people.crew, sheet, "", seen=pk_of(first))
        back(people.crew, sheet, None)
        assert standing() == {"ride-height.LF": "2 1/4"}

    def test_does_not_undo_what_was_never_seen(
        self, people: People, sheet: Sheet, standing: Standing
    ) -> None:
        first = take(people.crew, sheet, "2 1/4")
        take(people.chief, sheet, "2 3/8", seen=pk_of(first))
        with pytest.raises(EditConflict):
            back(people.crew, sheet, pk_of(first))
        assert standing() == {"ride-height.LF": "2 3/8"}

    def test_of_nothing_is_refused(self, people: People, sheet: Sheet) -> None:
        first = take(people.crew, sheet, "2 1/4")
        with pytest.raises(WrongState, match="Nothing stood"):
            back(people.crew, sheet, pk_of(first))

    def test_ends_with_the_sheet(self, people: People, sheet: Sheet) -> None:
        first = take(people.crew, sheet, "2 1/4")
        second = take(people.crew, sheet, "2 3/8", seen=pk_of(first))
        with viewing_as(people.crew.pk):
            close_sheet(by=people.crew, sheet=sheet)
        with pytest.raises(WrongState, match="closed"):
            back(people.crew, sheet, pk_of(second))

    def test_without_its_line_in_the_trail_nothing_is_put_back(
        self, people: People, sheet: Sheet, standing: Standing, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        def fails(*_: object, **__: object) -> None:
            raise RuntimeError("no trail")

        first = take(people.crew, sheet, "2 1/4")
        second = take(people.crew, sheet, "2 3/8", seen=pk_of(first))
        monkeypatch.setattr(TrailLine, "save", fails)
        with pytest.raises(RuntimeError):
            back(people.crew, sheet, pk_of(second))
        assert standing() == {"ride-height.LF": "2 3/8"}


@pytest.mark.parametrize("who", ["guest", "coach", "official", "steward", "rival", "stranger"])
def test_who_may_not(people: People, sheet: Sheet, who: str) -> None:
    user = getattr(people, who)
    with viewing_as(people.crew.pk):
        take_typed(by=people.crew, sheet=sheet, typed={"ride-height.LF": "2 1/4"})
    with pytest.raises(NotAllowed):
        take(user, sheet, "2 1/2")
    with pytest.raises(NotAllowed):
        back(user, sheet, None)


def until_one_waits() -> None:
    """Returns when another connection waits for a row that this one holds."""
    with connection.cursor() as cursor:
        for _ in range(2000):
            cursor.execute(
                "SELECT count(*) FROM pg_locks WHERE NOT granted AND locktype = 'transactionid'"
            )
            row = cursor.fetchone()
            if row and row[0]:
                return
            time.sleep(0.005)
    raise AssertionError("the second one never waited for the first")


def in_thread(work: Callable[[], None]) -> threading.Thread:
    def run() -> None:
        try:
            work()
        finally:
            connections.close_all()

    thread = threading.Thread(target=run)
    thread.start()
    return thread


def test_two_transactions_at_once_the_later_is_asked(
    committed: tuple[People, Garage, Sheet],
) -> None:
    """Both saw an empty box; the second saves while the first is not committed yet."""
    people, _, sheet = committed
    entered, said = threading.Event(), []

    def second() -> None:
        entered.wait(20)
        try:
            take(people.crew, sheet, "2 1/4")
        except EditConflict as refusal:
            said.append((str(refusal), refusal.standing and refusal.standing.typed))

    other = in_thread(second)
    with viewing_as(people.chief.pk):
        take(people.chief, sheet, "2 3/8")
        entered.set()
        until_one_waits()
    other.join(30)
    assert said == [("Chief wrote 2 3/8 since you looked.", "2 3/8")]
    with viewing_as(people.crew.pk):
        assert [row.typed for row in sheet.readings.all()] == ["2 3/8"]
