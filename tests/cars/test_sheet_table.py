"""A sheet to read: each figure in its column, what is off first, the same figure in both."""

import pytest
from django.test import Client

from cars.lookups import find_sheet
from cars.models import Sheet
from cars.sheets.actions.readings import take_typed
from cars.sheets.actions.set_sheet import note_change
from cars.sheets.actions.sheets import open_sheet
from cars.sheets.presenters.exceptions import SHOWN, exceptions_of
from cars.sheets.presenters.figure_table import Cell, TableRow, figure_table
from cars.sheets.presenters.sheet_view import SheetView, sheet_view
from clubsetup.access.models import User
from clubsetup.access.viewer import viewing_as
from tests.cars.garage import Garage, typed
from tests.markup import set_of
from tests.people import People

FIGURES = {
    "ride-height.LF": "2 1/4",
    "ride-height.RF": "2 5/8",
    "ride-height.LR": "2 5/16",
    "wheelbase.left": "46 1/4",
    "wheelbase.right": "46 3/4",
    "rear-bar.left": "10 1/2",
    "weight.LF": "80",
    "weight.RF": "60",
    "weight.LR": "90",
    "weight.RR": "70",
    "block-marks.left": "2 / 1",
    "nuts-bolts.car": "done",
    "wheels-tight.LF": "done",
}


def view_for(sheet: Sheet, who: User) -> SheetView:
    read = find_sheet(sheet.pk)
    assert read is not None
    return sheet_view(read, who)


def rows_of(view: SheetView) -> dict[str, TableRow]:
    return {row.id: row for group in figure_table(view) for row in group.rows}


@pytest.fixture
def sheet(garage: Garage, people: People) -> Sheet:
    with viewing_as(people.crew.pk):
        sheet = garage.sheet(people.crew)
        take_typed(by=people.crew, sheet=sheet, typed=FIGURES)
    return sheet


@pytest.fixture
def view(sheet: Sheet, people: People) -> SheetView:
    with viewing_as(people.crew.pk):
        return view_for(sheet, people.crew)


def test_every_line_fills_four_columns_once(view: SheetView) -> None:
    rows = rows_of(view)
    for row in rows.values():
        assert row.checks or sum(cell.span for cell in row.cells) == 4, row.id
    drawn = [cell.box for row in rows.values() for cell in row.cells if cell.box]
    checked = {str(key) for key, box in view.boxes.items() if box.is_check}
    assert sorted(drawn) == sorted({str(key) for key in view.boxes} - checked)


@pytest.mark.parametrize(
    ("row", "columns"),
    [
        ("m-ride-height", ["LF", "RF", "LR", "RR"]),
        ("m-rear-bar", ["", "", "left", "right"]),
        ("m-front-panel", ["left", "right", "", ""]),
        ("m-wheelbase", ["left", "right", "", ""]),
        ("m-stagger", ["front", "front", "rear", "rear"]),
        ("m-toe", ["front", "front", "", ""]),
        ("m-cross", ["car"] * 4),
    ],
)
def test_a_figure_stands_where_its_wheel_does(
    view: SheetView, row: str, columns: list[str]
) -> None:
    cells = rows_of(view)[row].cells
    assert [cell.box.partition(".")[2] for cell in cells for _ in range(cell.span)] == columns


def cell_of(view: SheetView, box: str) -> Cell:
    (cell,) = (c for row in rows_of(view).values() for c in row.cells if c.box == box)
    return cell


def test_only_an_exception_is_marked(view: SheetView) -> None:
    low = cell_of(view, "ride-height.RF")
    assert (low.set, low.target, low.look, low.mark) == ("2 5/8", "2 3/8", "bad", "▲")
    near = cell_of(view, "ride-height.LR")
    assert (near.look, near.mark, near.words) == ("close", "≈", "too close to tell")
    good = cell_of(view, "ride-height.LF")
    assert (good.set, good.look, good.mark, good.words) == ("2 1/4", "", "", "")
    empty = cell_of(view, "ride-height.RR")
    assert (empty.set, empty.target) == ("", "2 1/2")
    assert cell_of(view, "cross.car").set == "50.0"
    assert rows_of(view)["m-ride-height"].tolerance == "1/16"


def test_found_stands_only_where_it_was_changed(
    sheet: Sheet, garage: Garage, people: People
) -> None:
    with viewing_as(people.crew.pk):
        as_set = open_sheet(by=people.crew, car=garage.car, role="set", based_on=sheet)
        said = {"ride-height.RF": "2 3/8", "ride-height.LF": "2 1/4"}
        take_typed(by=people.crew, sheet=as_set, typed=said)
        view = view_for(as_set, people.crew)
    assert cell_of(view, "ride-height.RF").found == "2 5/8"
    assert cell_of(view, "ride-height.LF").found == ""
    assert cell_of(view, "ride-height.LR").found == "", "nobody has measured it anew"


def test_checks_are_one_line_and_each_says_its_own(view: SheetView) -> None:
    checks = rows_of(view)["m-checks-last-check"].checks
    said = {check.name: check.words for check in checks}
    assert said["nuts and bolts"] == "checked"
    assert said["wheels tight LF"] == "checked"
    assert said["wheels tight RR"] == "not checked"
    assert said["brakes"] == "not checked"


def test_what_is_off_comes_first(view: SheetView) -> None:
    told = exceptions_of(view)
    lines = [*told.first, *told.more]
    looks = [line.look for line in lines]
    assert looks == sorted(looks, key=["bad", "close", "again"].index)
    height = next(line for line in lines if line.name == "Ride height RF")
    assert (height.figure, height.unit, height.words) == ("2 5/8", "in", "1/4 high")
    assert (height.mark, height.url) == ("▲", "#m-ride-height")
    assert "<svg" in height.strip
    assert told.title.startswith(f"{view.off} of {view.judged} off, ")
    assert len(lines) == view.off + view.close


def test_what_leads_to_where_it_is_mended(view: SheetView) -> None:
    told = exceptions_of(view, {"ride-heights": "/there/"})
    assert {line.url for line in told.first if line.step == "ride-heights"} == {"/there/"}


def test_retakes_of_a_measure_are_one_line(sheet: Sheet, people: People) -> None:
    with viewing_as(people.crew.pk):
        on = open_sheet(by=people.crew, car=sheet.car, role="set", based_on=sheet)
        take_typed(by=people.crew, sheet=on, typed=FIGURES)
        turn = typed("turns", "1").value
        note_change(
            by=people.crew, sheet=on, adjuster="spring-seat", spot="LF", amount=turn, unit="turn"
        )
        view = view_for(on, people.crew)
    told = exceptions_of(view)
    again = {line.measure: line for line in (*told.first, *told.more) if line.look == "again"}
    assert again["weight"].name == "Weight LF RF LR RR"
    assert again["weight"].words == "retake: spring seat LF +1 turn"
    # A sum with a part to retake is itself to be taken again, and on no target.
    assert {"cross", "total-weight"} <= again.keys()
    assert cell_of(view, "cross.car").look == "again"
    assert f"{view.retakes} to retake" in told.title
    assert len(told.first) <= SHOWN + 1


def test_an_empty_sheet_says_that_there_is_nothing_to_judge(garage: Garage, people: People) -> None:
    with viewing_as(people.crew.pk):
        view = view_for(garage.sheet(people.crew), people.crew)
    told = exceptions_of(view)
    assert (told.title, told.first, told.more) == ("Nothing to judge yet", [], [])
    assert told.rest.startswith("0 of 84 taken")


def test_the_page_marks_what_its_list_names(
    client: Client, sheet: Sheet, view: SheetView, people: People
) -> None:
    client.force_login(people.guest)
    page = client.get(f"/sheets/{sheet.pk}/").content.decode()
    marked = {box for box, (mark, _) in set_of(page).items() if mark}
    assert len(marked) == view.off + view.close
    assert 'id="m-ride-height"' in page
    assert 'id="ride-heights"' in page
