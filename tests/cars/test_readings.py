"""What is kept of a reading, part by part: of one taken, sent again, put back or refused."""

from datetime import UTC, datetime, timedelta
from decimal import Decimal
from typing import Any
from uuid import UUID

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from cars.catalogue.keys import Key
from cars.constraint_messages import MESSAGES
from cars.figures.box_entries import BoxEntry, read_entry
from cars.models import Measure, Reading, Sheet
from cars.sheets.actions.conflicts import OVER_ANYTHING, EditConflict
from cars.sheets.actions.readings import (
    _says_new,
    locked_open,
    take_readings,
    take_same_again,
    take_typed,
)
from cars.sheets.actions.replacing import put_back_reading, replace_reading
from cars.sheets.actions.save_boxes import (
    BoxInput,
    BoxResult,
    conflict_message,
    save_boxes,
    save_together,
)
from cars.sheets.actions.set_sheet import open_set_sheet
from cars.sheets.actions.sheets import close_sheet
from clubsetup.access.errors import Invalid, NotAllowed, WrongState
from clubsetup.access.idempotency import DIFFERS
from clubsetup.access.ids import new_id
from clubsetup.access.models import TrailLine, User
from clubsetup.access.viewer import viewing_as
from clubsetup.quantities.units import Units
from teams.actions.clubs import set_club_units
from tests.cars.garage import Garage
from tests.clocks import stand_still
from tests.people import People

NOW = datetime(2026, 3, 14, 20, 30, tzinfo=UTC)
EARLIER = NOW - timedelta(hours=2)
LF, RF = Key("ride-height", "LF"), Key("ride-height", "RF")


@pytest.fixture
def sheet(garage: Garage, people: People, monkeypatch: pytest.MonkeyPatch) -> Sheet:
    with viewing_as(people.crew.pk):
        sheet = garage.sheet(people.crew)
    stand_still(monkeypatch, NOW)
    return sheet


def entry(key: Key, text: str, reading_id: UUID | None = None, **more: Any) -> BoxEntry:
    measure = Measure.objects.get(pk=key.measure)
    read = read_entry(measure, key, text, Units.imperial(), reading_id)
    return BoxEntry(key, read.text, read.quantity, reading_id, **more)


def trail(sheet: Sheet) -> list[tuple[Any, ...]]:
    """What the trail says of the sheet's readings, the first line first."""
    rows = TrailLine.objects.filter(on_id=sheet.pk, did="took").order_by("pk")
    return [(row.by_id, row.on_kind, row.team_id, row.detail) for row in rows]


def line(by: User, sheet: Sheet, **readings: list[str]) -> tuple[Any, ...]:
    named = {name.replace("_", "-").replace("--", "."): both for name, both in readings.items()}
    return by.pk, "cars.sheet", sheet.team_id, {"readings": named}


class TestTaken:
    def test_every_part_of_it_is_kept(self, people: People, sheet: Sheet) -> None:
        mine = new_id()
        words, done = Key("block-marks", "left"), Key("nuts-bolts", "car")
        entries = [
            entry(LF, "2 3/8"),
            entry(Key("ride-height", "LF", 2), "57.15 mm", mine, taken_at=EARLIER),
            entry(words, "two dots"),
            entry(done, "yes"),
            entry(RF, ""),
        ]
        with viewing_as(people.crew.pk):
            made = take_readings(by=people.crew, sheet=sheet, entries=entries, seen=OVER_ANYTHING)
            rows = list(Reading.objects.filter(sheet=sheet))
            assert {row.pk for row in rows} == {row.pk for row in made}
            assert trail(sheet) == [
                line(
                    people.crew,
                    sheet,
                    ride_height__LF=["", "2 3/8"],
                    ride_height__LF__2=["", "57.15 mm"],
                    block_marks__left=["", "two dots"],
                    nuts_bolts__car=["", "done"],
                )
            ]
        parts = ("measure_id", "spot", "take", "value", "typed", "unit", "resolution", "taken_at")
        kept = {tuple(getattr(row, part) for part in parts) for row in rows}
        sixteenth = Decimal("1.5875")
        assert kept == {
            ("ride-height", "LF", 1, Decimal("60.325"), "2 3/8", "in", sixteenth, NOW),
            ("ride-height", "LF", 2, Decimal("57.15"), "57.15 mm", "mm", Decimal("0.01"), EARLIER),
            ("block-marks", "left", 1, None, "two dots", "", None, NOW),
            ("nuts-bolts", "car", 1, None, "done", "", None, NOW),
        }
        assert {(row.by_id, row.team_id, row.sheet_id) for row in rows} == {
            (people.crew.pk, sheet.team_id, sheet.pk)
        }
        assert [row.pk for row in rows if row.take == 2] == [mine]

    def test_what_stood_is_kept_as_replaced(self, people: People, sheet: Sheet) -> None:
        crew, chief = people.crew, people.chief
        with viewing_as(crew.pk):
            both = [entry(LF, "2 1/4"), entry(RF, "2 3/8")]
            first, right = take_readings(by=crew, sheet=sheet, entries=both, seen=OVER_ANYTHING)
        with viewing_as(chief.pk):
            assert take_readings(by=chief, sheet=sheet, entries=both, seen=OVER_ANYTHING) == []
            anew = [entry(LF, "2 5/16"), entry(RF, "2 3/8"), entry(Key("toe", "front"), "")]
            (second,) = take_readings(by=chief, sheet=sheet, entries=anew, seen=OVER_ANYTHING)
            (third,) = take_readings(
                by=chief, sheet=sheet, entries=anew[:1], anew=True, seen=OVER_ANYTHING
            )
            assert (
                take_readings(
                    by=chief, sheet=sheet, entries=anew[2:], anew=True, seen=OVER_ANYTHING
                )
                == []
            )
            assert (
                take_readings(by=chief, sheet=sheet, entries=[entry(LF, "")], seen=OVER_ANYTHING)
                == []
            )
            rows = Reading.objects.in_bulk()
            replaced = {pk for pk, row in rows.items() if row.replaced_at == NOW}
            assert replaced == {first.pk, second.pk, third.pk}
            assert {rows[pk].replaced_by_id for pk in replaced} == {chief.pk}
            assert (rows[right.pk].replaced_at, rows[right.pk].replaced_by) == (None, None)
            assert trail(sheet)[1:] == [
                line(chief, sheet, ride_height__LF=["2 1/4", "2 5/16"]),
                line(chief, sheet, ride_height__LF=["2 5/16", "2 5/16"]),
                line(chief, sheet, ride_height__LF=["2 5/16", ""]),
            ]

    def test_sent_again_it_is_there_once_and_the_others_are_made(
        self, garage: Garage, people: People, sheet: Sheet
    ) -> None:
        crew, mine = people.crew, new_id()
        with viewing_as(crew.pk):
            sent = [entry(LF, "2 1/4", mine), entry(RF, "2 3/8", new_id())]
            take_readings(by=crew, sheet=sheet, entries=sent[:1], seen=OVER_ANYTHING)
            (other,) = take_readings(by=crew, sheet=sheet, entries=sent, seen=OVER_ANYTHING)
            assert other.spot == "RF"
            take_readings(by=crew, sheet=sheet, entries=[entry(LF, "2 1/2")], seen=OVER_ANYTHING)
            # Replaced since; its sender hears nothing of it and changes nothing.
            assert (
                take_readings(by=crew, sheet=sheet, entries=sent, anew=True, seen=OVER_ANYTHING)
                == []
            )
            target = garage.sheet(crew, role="target")
            for on, changed in (
                (sheet, entry(LF, "2 5/8", mine)),
                (sheet, entry(RF, "2 1/4", mine)),
                (target, entry(LF, "2 1/4", mine)),
            ):
                with pytest.raises(WrongState) as refused:
                    take_readings(by=crew, sheet=on, entries=[changed], seen=OVER_ANYTHING)
                assert str(refused.value) == DIFFERS
            assert [row.typed for row in sheet.readings.current().order_by("spot")] == [
                "2 1/2",
                "2 3/8",
            ]

    def test_what_was_not_seen_is_not_replaced(self, people: People, sheet: Sheet) -> None:
        crew = people.crew
        with viewing_as(crew.pk):
            (stands,) = take_readings(
                by=crew, sheet=sheet, entries=[entry(LF, "2 1/4")], seen=OVER_ANYTHING
            )
            with pytest.raises(EditConflict) as refused:
                take_readings(by=crew, sheet=sheet, entries=[entry(LF, "2")], seen={LF: None})
            assert (refused.value.key, refused.value.standing) == (LF, stands)
            (now,) = take_readings(
                by=crew, sheet=sheet, entries=[entry(LF, "2")], seen={LF: stands.pk}
            )
            assert now.typed == "2"

    def test_refused(self, people: People, sheet: Sheet) -> None:
        twice = [entry(LF, "2 1/4"), entry(RF, "2"), entry(LF, "2 3/8")]
        with viewing_as(people.guest.pk), pytest.raises(NotAllowed):
            take_readings(by=people.guest, sheet=sheet, entries=twice[:1], seen=OVER_ANYTHING)
        with viewing_as(people.crew.pk):
            with pytest.raises(Invalid) as refused:
                take_readings(by=people.crew, sheet=sheet, entries=twice, seen=OVER_ANYTHING)
            assert (refused.value.field, str(refused.value)) == (
                "readings",
                "One box was given twice.",
            )
            assert not sheet.readings.exists()
            take_readings(by=people.crew, sheet=sheet, entries=twice[:2], seen=OVER_ANYTHING)
            close_sheet(by=people.crew, sheet=sheet)
            for late in (
                lambda: take_readings(
                    by=people.crew, sheet=sheet, entries=[entry(RF, "2 1/4")], seen=OVER_ANYTHING
                ),
                lambda: take_same_again(by=people.crew, sheet=sheet, key=LF, seen=OVER_ANYTHING),
                lambda: put_back_reading(by=people.crew, sheet=sheet, key=LF, seen=None),
            ):
                with pytest.raises(WrongState) as closed:
                    late()
                assert str(closed.value) == MESSAGES["sheet_is_closed"]

    def test_the_sheet_is_held_with_its_team(self, people: People, sheet: Sheet) -> None:
        with viewing_as(people.crew.pk):
            with CaptureQueriesContext(connection) as asked:
                now = locked_open(sheet)
                assert now.team == people.team
            assert (now.pk, now.state) == (sheet.pk, Sheet.State.OPEN)
            assert len(asked) == 1
            assert asked[0]["sql"].endswith('FOR UPDATE OF "cars_sheet"')

    def test_by_its_words(self, people: People, sheet: Sheet) -> None:
        crew, height = people.crew, Measure.objects.get(pk="ride-height")

        def take(name: str, text: str) -> list[Reading]:
            return take_typed(by=crew, sheet=sheet, typed={name: text})

        with viewing_as(crew.pk):
            (first,) = take("ride-height.LF", "2 1/4")
            assert (first.take, first.measure, first.spot, first.unit) == (1, height, "LF", "in")
            assert take("ride-height.LF", "2 1/4") == []
            (second,) = take("ride-height.LF.2", "57 mm")
            assert (second.take, second.unit, second.by) == (2, "mm", crew)
            made = take_typed(
                by=crew, sheet=sheet, typed={"ride-height.RF.2": "2", "nuts-bolts.car": "ok"}
            )
            assert {(row.measure_id, row.spot, row.take, row.typed) for row in made} == {
                ("ride-height", "RF", 2, "2"),
                ("nuts-bolts", "car", 1, "done"),
            }
            assert made[0].unit == "in"
            only = {"ride-height": height}
            with pytest.raises(KeyError):
                take_typed(by=crew, sheet=sheet, typed={"toe.front": "0"}, measures=only)
            (known,) = take_typed(
                by=crew, sheet=sheet, typed={"ride-height.RR": "2"}, measures=only
            )
            assert known.spot == "RR"


def test_the_same_again_is_a_new_reading_with_the_figure_that_stood(
    people: People, sheet: Sheet
) -> None:
    crew, chief, mine = people.crew, people.chief, new_id()
    parts = ("measure_id", "spot", "take", "value", "typed", "unit", "resolution", "team_id")
    with viewing_as(crew.pk):
        was = take_readings(
            by=crew,
            sheet=sheet,
            entries=[entry(LF, "2 1/4", taken_at=EARLIER), entry(RF, "2")],
            seen=OVER_ANYTHING,
        )[0]
    with viewing_as(people.guest.pk), pytest.raises(NotAllowed):
        take_same_again(by=people.guest, sheet=sheet, key=LF, seen=OVER_ANYTHING)
    with viewing_as(chief.pk):
        with pytest.raises(EditConflict) as conflict:
            take_same_again(by=chief, sheet=sheet, key=LF, seen=mine)
        assert (conflict.value.key, conflict.value.standing) == (LF, was)
        assert conflict.value.by == crew
        again = take_same_again(by=chief, sheet=sheet, key=LF, seen=was.pk, reading_id=mine)
        was.refresh_from_db()
        again.refresh_from_db()
        assert [getattr(again, part) for part in parts] == [getattr(was, part) for part in parts]
        assert (again.pk, again.by, again.taken_at, again.replaced_at) == (mine, chief, NOW, None)
        assert (was.replaced_at, was.replaced_by) == (NOW, chief)
        assert trail(sheet)[1:] == [line(chief, sheet, ride_height__LF=["2 1/4", "2 1/4"])]
        assert take_same_again(by=chief, sheet=sheet, key=LF, seen=OVER_ANYTHING).pk != mine
        assert sheet.readings.current().count() == 2
        with pytest.raises(WrongState) as refused:
            take_same_again(by=chief, sheet=sheet, key=Key("ride-height", "LR"), seen=OVER_ANYTHING)
        told = "Nothing stands in this box any more. Take the reading."
        assert str(refused.value) == told


class TestPutBack:
    def test_what_was_replaced_stands_again(
        self, people: People, sheet: Sheet, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        crew, chief, mine = people.crew, people.chief, new_id()
        parts = ("measure_id", "spot", "take", "value", "typed", "unit", "resolution", "team_id")
        with viewing_as(crew.pk):
            given = entry(LF, "2 3/8", taken_at=EARLIER)
            first = replace_reading(by=crew, sheet=sheet, entry=given, seen=None)
            assert first is not None
            second = replace_reading(by=crew, sheet=sheet, entry=entry(LF, "57 mm"), seen=first.pk)
            assert second is not None
        with viewing_as(people.guest.pk), pytest.raises(NotAllowed):
            put_back_reading(by=people.guest, sheet=sheet, key=LF, seen=second.pk)
        with viewing_as(chief.pk):
            with pytest.raises(EditConflict) as conflict:
                put_back_reading(by=chief, sheet=sheet, key=LF, seen=None)
            assert (conflict.value.key, conflict.value.standing) == (LF, second)
            back = put_back_reading(by=chief, sheet=sheet, key=LF, seen=second.pk, reading_id=mine)
            back.refresh_from_db()
            second.refresh_from_db()
            same = [getattr(first, part) for part in parts]
            assert [getattr(back, part) for part in parts] == same
            assert (back.pk, back.by, back.taken_at) == (mine, chief, EARLIER)
            assert (back.sheet, back.carried_from, back.replaced_at) == (sheet, None, None)
            assert (second.replaced_at, second.replaced_by) == (NOW, chief)
            assert trail(sheet)[2:] == [line(chief, sheet, ride_height__LF=["57 mm", "2 3/8"])]
            # Of two that were replaced at the same moment neither is the last.
            stand_still(monkeypatch, NOW + timedelta(minutes=1))
            replace_reading(by=chief, sheet=sheet, entry=entry(LF, ""), seen=mine)
            put_back_reading(by=chief, sheet=sheet, key=LF, seen=None)
            assert trail(sheet)[4:] == [line(chief, sheet, ride_height__LF=["", "2 3/8"])]
            with pytest.raises(WrongState) as refused:
                put_back_reading(by=chief, sheet=sheet, key=RF, seen=None)
            assert str(refused.value) == "Nothing stood in this box before."

    def test_what_somebody_emptied_is_put_to_whom_did_not_see_it(
        self, people: People, sheet: Sheet
    ) -> None:
        crew = people.crew
        with viewing_as(crew.pk):
            first = replace_reading(by=crew, sheet=sheet, entry=entry(LF, "2"), seen=None)
            assert first is not None
            assert replace_reading(by=crew, sheet=sheet, entry=entry(LF, ""), seen=first.pk) is None
            with pytest.raises(EditConflict) as conflict:
                put_back_reading(by=crew, sheet=sheet, key=LF, seen=first.pk)
            assert (conflict.value.standing, conflict.value.by) == (None, crew)

    def test_what_was_carried_is_again_by_whom_it_was_read(
        self, people: People, sheet: Sheet
    ) -> None:
        crew, chief = people.crew, people.chief
        with viewing_as(crew.pk):
            (read,) = take_readings(
                by=crew, sheet=sheet, entries=[entry(LF, "2 1/4")], seen=OVER_ANYTHING
            )
            found = close_sheet(by=crew, sheet=sheet)
        with viewing_as(chief.pk):
            as_set = open_set_sheet(by=chief, sheet=found)
            carried = as_set.readings.get()
            # The same figure read on the car as left is another reading.
            now = replace_reading(by=chief, sheet=as_set, entry=entry(LF, "2 1/4"), seen=carried.pk)
            assert now is not None
            assert (now.carried_from, now.by) == (None, chief)
            back = put_back_reading(by=chief, sheet=as_set, key=LF, seen=now.pk)
            assert (back.carried_from_id, back.by_id) == (read.pk, crew.pk)


def test_replacing_answers_with_what_stands(people: People, sheet: Sheet) -> None:
    crew = people.crew
    with viewing_as(crew.pk):
        first = replace_reading(by=crew, sheet=sheet, entry=entry(LF, "2"), seen=None)
        assert first is not None
        same = replace_reading(by=crew, sheet=sheet, entry=entry(LF, "2"), seen=first.pk)
        assert same == first
        again = replace_reading(
            by=crew, sheet=sheet, entry=entry(LF, "2"), seen=first.pk, again=True
        )
        assert again not in (None, first)


class TestBoxes:
    def test_each_is_saved_or_refused_by_itself(self, people: People, sheet: Sheet) -> None:
        crew, mine, known = people.crew, new_id(), Measure.objects.in_bulk()
        with viewing_as(crew.pk):
            (rf,) = take_readings(
                by=crew, sheet=sheet, entries=[entry(RF, "2 3/8")], seen=OVER_ANYTHING
            )
            (rr,) = take_readings(
                by=crew,
                sheet=sheet,
                entries=[entry(Key("ride-height", "RR"), "2 1/2")],
                seen=OVER_ANYTHING,
            )
            sent = [
                BoxInput(Key("seat-cover", "car"), "red", None),
                BoxInput(RF, "nonsense", rf.pk),
                BoxInput(LF, "2 1/4", None, reading_id=mine, taken_at=EARLIER),
                BoxInput(Key("ride-height", "RR"), "2", None),
                BoxInput(Key("toe", "front"), "", None),
            ]
            unknown, wrong, saved, conflict, empty = save_boxes(crew, sheet, iter(sent), known)
            assert [one.sent for one in (unknown, wrong, saved, conflict, empty)] == sent
            assert (unknown.status, unknown.standing) == ("refused", None)
            assert unknown.refused == "There is no such measure any more."
            assert (wrong.status, wrong.standing) == ("wrong", rf)
            assert "nonsense" in wrong.wrong
            assert (conflict.status, conflict.standing) == ("conflict", None)
            assert conflict.conflict is not None
            assert conflict.conflict.standing == rr
            assert (empty.status, empty.standing) == ("saved", None)
            assert (saved.status, saved.wrong, saved.refused) == ("saved", "", "")
            row = Reading.objects.get(pk=mine)
            assert saved.standing == row
            assert (row.typed, row.taken_at, row.unit, row.by) == ("2 1/4", EARLIER, "in", crew)
            (again,) = save_boxes(crew, sheet, [BoxInput(RF, "2 3/8", rf.pk, again=True)], known)
            assert again.standing not in (None, rf)
            assert again.standing is not None
            assert again.standing.taken_at == NOW
            close_sheet(by=crew, sheet=sheet)
            (late,) = save_boxes(crew, sheet, [BoxInput(LF, "3", mine)], known)
            assert (late.status, late.standing) == ("refused", row)
            assert late.refused == MESSAGES["sheet_is_closed"]

    @pytest.mark.parametrize(
        ("given", "status"),
        [
            ({}, "saved"),
            ({"wrong": "No figure."}, "wrong"),
            ({"conflict": EditConflict(LF, None, None)}, "conflict"),
            ({"refused": "It is closed."}, "refused"),
        ],
    )
    def test_what_came_of_one_in_a_word(self, given: dict[str, Any], status: str) -> None:
        assert BoxResult(BoxInput(LF, "2", None), **given).status == status

    def test_another_figure_goes_over_the_one_that_was_seen(
        self, people: People, sheet: Sheet
    ) -> None:
        crew, known = people.crew, Measure.objects.in_bulk()
        second = Key("ride-height", "LF", 2)
        with viewing_as(crew.pk):
            made = take_readings(
                by=crew,
                sheet=sheet,
                entries=[entry(LF, "2 1/4"), entry(second, "2 3/8")],
                seen=OVER_ANYTHING,
            )
            sent = [
                BoxInput(key, "2 1/2", was.pk) for key, was in zip((LF, second), made, strict=True)
            ]
            results = save_boxes(crew, sheet, sent, known)
            assert [one.status for one in results] == ["saved", "saved"]
            for was, one in zip(made, results, strict=True):
                was.refresh_from_db()
                assert was.replaced_at == NOW
                assert one.standing is not None
                assert one.standing.typed == "2 1/2"

    def test_a_bare_number_is_in_the_club_s_units(self, people: People, sheet: Sheet) -> None:
        crew, known = people.crew, Measure.objects.in_bulk()
        with viewing_as(people.steward.pk):
            set_club_units(by=people.steward, club=people.club, units={"length": "mm"})
        with viewing_as(crew.pk):
            sheet = Sheet.objects.get(pk=sheet.pk)
            (saved,) = save_boxes(crew, sheet, [BoxInput(LF, "57", None)], known)
            assert saved.standing is not None
            assert (saved.standing.value, saved.standing.unit) == (Decimal(57), "mm")
            (typed,) = take_typed(by=crew, sheet=sheet, typed={str(RF): "60"})
            assert (typed.value, typed.unit) == (Decimal(60), "mm")
            assert (
                save_together(crew, sheet, [BoxInput(Key("ride-height", "LR"), "61", None)], known)
                == {}
            )
            assert {row.unit for row in sheet.readings.current()} == {"mm"}


class TestTogether:
    """The eight figures of one weighing: all as read now, or none."""

    def standing(self, sheet: Sheet) -> dict[str, str]:
        return {f"{row.measure_id}.{row.spot}": row.typed for row in sheet.readings.current()}

    def test_all_of_them_are_read_anew(self, people: People, sheet: Sheet) -> None:
        crew, known = people.crew, Measure.objects.in_bulk()
        with viewing_as(crew.pk):
            (was,) = take_readings(
                by=crew, sheet=sheet, entries=[entry(RF, "2 3/8")], seen=OVER_ANYTHING
            )
            sent = [BoxInput(RF, "2 3/8", was.pk), BoxInput(LF, "2 1/4", None)]
            assert save_together(crew, sheet, sent, known) == {}
            was.refresh_from_db()
            assert was.replaced_at == NOW, "the same figure, read once more"
            assert self.standing(sheet) == {"ride-height.RF": "2 3/8", "ride-height.LF": "2 1/4"}

    def test_what_is_wrong_with_each_is_said_and_none_is_kept(
        self, people: People, sheet: Sheet
    ) -> None:
        crew, known = people.crew, Measure.objects.in_bulk()
        with viewing_as(crew.pk):
            sent = [
                BoxInput(LF, "2 1/4", None),
                BoxInput(RF, "nonsense", None),
                BoxInput(Key("ride-height", "LR"), "3 psi", None),
            ]
            wrong = save_together(crew, sheet, sent, known)
            assert list(wrong) == [RF, Key("ride-height", "LR")]
            assert "nonsense" in wrong[RF]
            assert "psi is for a pressure" in wrong[Key("ride-height", "LR")]
            assert self.standing(sheet) == {}

    def test_over_what_somebody_else_wrote_none_is_kept(self, people: People, sheet: Sheet) -> None:
        crew, chief, known = people.crew, people.chief, Measure.objects.in_bulk()
        with viewing_as(chief.pk):
            take_readings(by=chief, sheet=sheet, entries=[entry(RF, "2 5/8")], seen=OVER_ANYTHING)
        with viewing_as(crew.pk):
            sent = [BoxInput(LF, "2 1/4", None), BoxInput(RF, "2 1/2", None)]
            assert save_together(crew, sheet, sent, known) == {
                RF: "Chief wrote 2 5/8 a moment ago; you typed 2 1/2."
            }
            assert self.standing(sheet) == {"ride-height.RF": "2 5/8"}

    def test_a_closed_sheet_takes_none(self, people: People, sheet: Sheet) -> None:
        crew, known = people.crew, Measure.objects.in_bulk()
        with viewing_as(crew.pk):
            take_readings(by=crew, sheet=sheet, entries=[entry(RF, "2")], seen=OVER_ANYTHING)
            close_sheet(by=crew, sheet=sheet)
            with pytest.raises(WrongState, match=MESSAGES["sheet_is_closed"]):
                save_together(crew, sheet, [BoxInput(LF, "2 1/4", None)], known)


def test_who_emptied_a_box_meanwhile_is_named(people: People, sheet: Sheet) -> None:
    crew, chief = people.crew, people.chief
    with viewing_as(crew.pk):
        (was,) = take_readings(by=crew, sheet=sheet, entries=[entry(LF, "2")], seen=OVER_ANYTHING)
    with viewing_as(chief.pk):
        take_readings(by=chief, sheet=sheet, entries=[entry(LF, "")], seen={LF: was.pk})
    with viewing_as(crew.pk), pytest.raises(EditConflict) as conflict:
        take_readings(by=crew, sheet=sheet, entries=[entry(LF, "2 1/8")], seen={LF: was.pk})
    assert (conflict.value.standing, conflict.value.by) == (None, chief)


class TestConflictMessage:
    CHIEF, CREW = User(pk=new_id(), name="Chief"), User(pk=new_id(), name="Crew")

    def told(self, ago: timedelta, viewer: User = CREW, text: str = "2 1/4") -> str:
        row = Reading(by=self.CHIEF, typed="2 3/8", created_at=NOW - ago)
        return conflict_message(EditConflict(LF, row, None), viewer, text)

    @pytest.mark.parametrize(
        ("seconds", "when"),
        [
            (0, "a moment ago"),
            (119, "a moment ago"),
            (120, "2 minutes ago"),
            (3599, "59 minutes ago"),
            (3600, "earlier"),
        ],
    )
    def test_who_wrote_what_and_when(
        self, monkeypatch: pytest.MonkeyPatch, seconds: int, when: str
    ) -> None:
        stand_still(monkeypatch, NOW)
        wanted = f"Chief wrote 2 3/8 {when}; you typed 2 1/4."
        assert self.told(timedelta(seconds=seconds)) == wanted

    def test_oneself_elsewhere(self, monkeypatch: pytest.MonkeyPatch) -> None:
        stand_still(monkeypatch, NOW)
        told = self.told(timedelta(0), viewer=self.CHIEF, text="")
        wanted = "You yourself, on another page, wrote 2 3/8 a moment ago; you emptied it."
        assert told == wanted

    def test_emptied(self) -> None:
        emptied = EditConflict(LF, None, Reading(replaced_by=self.CHIEF))
        told = conflict_message(emptied, self.CREW, "2")
        assert told == "Chief emptied this box meanwhile; you typed 2."
        nobody = conflict_message(EditConflict(LF, None, None), self.CREW, "2")
        assert nobody == "Somebody emptied this box meanwhile; you typed 2."


@pytest.mark.parametrize(
    ("text", "stands", "carried", "new"),
    [
        ("", None, False, False),
        ("dots", None, False, True),
        ("dots", "dots", False, False),
        ("dots", "dots", True, True),
        ("dash", "dots", False, True),
        ("", "dots", False, True),
        ("", "dots", True, True),
        ("", "", True, False),
    ],
)
def test_what_says_something_new(text: str, stands: str | None, carried: bool, new: bool) -> None:
    row = (
        None
        if stands is None
        else Reading(typed=stands, carried_from_id=new_id() if carried else None)
    )
    assert _says_new(BoxEntry(LF, text), row) is new
