"""The box a figure is read into: one set of macros for the sheet and the bench."""

import re
from collections.abc import Callable
from html import unescape
from types import SimpleNamespace

import pytest
from jinja2 import UndefinedError

from cars.bench.presenters.bench_view import BenchBox, BenchRow, Take
from cars.catalogue.keys import Key
from cars.catalogue.sync import read_catalogue
from cars.figures.judgement import FigureOutcome, Judgement
from cars.models import Sheet
from cars.sheets.presenters.boxes import Box
from cars.sheets.presenters.sheet_view import SheetRow, SheetView
from cars.templatetags.bench import bench_measure
from cars.templatetags.sheets import figure, measure, verdict
from clubsetup.quantities.units import Units
from clubsetup.site.macros import macro
from tests.markup import plain

Write = Callable[[SheetRow, SheetView], str]
TYPED = """2 1/4" <i>it's</i>"""
MEASURES = {each.pk: each for each in read_catalogue()[1]}


@pytest.fixture
def view() -> SheetView:
    return SheetView(Sheet(role="left"), [], {}, Units())


def row_of(slug: str, spot: str, text: str = "") -> SheetRow:
    """A measure with one box."""
    box = Box(Key(slug, spot), MEASURES[slug], Judgement(FigureOutcome.NOT_TAKEN), text=text)
    return SheetRow(MEASURES[slug], [box], " in")


def bench_of(row: SheetRow) -> BenchRow:
    """The same row as the bench has it."""
    key, text = row.boxes[0].key, row.boxes[0].text
    takes = [Take(Key(key.measure, key.spot, n), text if n == 1 else "", None) for n in (1, 2, 3)]
    return BenchRow(row, "A", [BenchBox(row.boxes[0], takes)])


def on_sheet(row: SheetRow, view: SheetView) -> str:
    return measure(row, view, "/save")


def on_bench(row: SheetRow, _view: SheetView) -> str:
    return bench_measure(bench_of(row), True)


def attributes(page: str, kind: str) -> dict[str, str]:
    """Of the first field of a kind."""
    field = re.search(rf"<input[^>]*{kind}[^>]*>", page)
    assert field
    return dict(re.findall(r'([\w-]+)="([^"]*)"', field[0]))


@pytest.mark.parametrize("write", [on_sheet, on_bench])
def test_what_somebody_typed_is_escaped(write: Write, view: SheetView) -> None:
    row = row_of("ride-height", "LF", TYPED)
    box = row.boxes[0]
    box.before = box.target = box.own = box.spread = box.words = box.shown = TYPED
    page = write(row, view)
    assert unescape(plain(page)).count(TYPED) >= 4
    box.refuse(TYPED)
    page += write(row, view) + figure(box, row, view, swap=True) + verdict(box, swap=True)
    assert "<i>" not in page
    assert "&amp;" not in page


@pytest.mark.parametrize(
    ("slug", "spot", "kind"),
    [
        ("ride-height", "LF", "number"),
        ("rear-rod-holes", "left", "words"),
        ("nuts-bolts", "car", "checkbox"),
    ],
)
def test_a_field_is_the_same_on_the_sheet_and_on_the_bench(
    view: SheetView, slug: str, spot: str, kind: str
) -> None:
    row = row_of(slug, spot, "1")
    sheet, bench = (attributes(write(row, view), kind) for write in (on_sheet, on_bench))
    own = {"hx-post", "aria-describedby"}
    assert {name: bench.get(name) for name in sheet.keys() - own} == {
        name: value for name, value in sheet.items() if name not in own
    }
    assert f"v-{slug}--{spot}" in sheet["aria-describedby"]
    assert sheet["name"] == f"{slug}.{spot}"


def test_a_name_that_is_not_there_is_an_error() -> None:
    with pytest.raises(UndefinedError):
        macro("cars/box.jinja", "state")(SimpleNamespace(state="good"))
