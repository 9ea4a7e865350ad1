"""The bench sheet to fill in by hand: a box for every figure, its target in it, on two pages."""

import io
import re
from html import unescape
from typing import Any

import pytest
from django.http import Http404
from django.test import Client
from pypdf import PdfReader

from cars.bench.presenters.blank_sheet import BlankStep, blank_steps
from cars.models import Measure, Sheet
from cars.sheets.actions.readings import take_typed
from cars.sheets.presenters.sheet_view import sheet_view
from clubsetup.access.viewer import viewing_as
from clubsetup.printing.registry import document_for
from clubsetup.printing.render import Source, render
from tests.cars.filling import everything
from tests.cars.garage import Garage
from tests.markup import one_line
from tests.people import People


@pytest.fixture
def sheet(garage: Garage, people: People) -> Sheet:
    with viewing_as(people.crew.pk):
        return garage.sheet(people.crew)


def steps_of(sheet: Sheet, people: People) -> dict[str, BlankStep]:
    with viewing_as(people.crew.pk):
        steps = blank_steps(sheet_view(sheet, people.crew))
    return {step.name: step for step in steps}


def html_of(key: str, subject: Any, people: People) -> str:
    with viewing_as(people.crew.pk):
        return document_for(key).html(subject, people.crew)


def test_it_has_a_box_for_every_figure_and_one_to_tick_for_every_check(
    sheet: Sheet, people: People
) -> None:
    html = html_of("bench-sheet", sheet, people)
    boxes = re.findall(r'class="found"[^>]* data-box="([^"]+)"', html)
    measures = list(Measure.objects.all())
    assert sorted(boxes) == sorted(
        f"{one.pk}.{spot}" for one in measures if one.taken != "done" for spot in one.spots
    )
    assert html.count('class="set"') == len(boxes)
    assert html.count('class="to-tick"') == sum(
        len(one.spots) for one in measures if one.taken == "done"
    )
    for one in measures:
        assert one.taken == "done" or one.where in unescape(one_line(html))


def test_targets_stand_in_the_boxes_and_no_reading_does(sheet: Sheet, people: People) -> None:
    empty = html_of("bench-sheet", sheet, people)
    with viewing_as(people.crew.pk):
        take_typed(by=people.crew, sheet=sheet, typed=everything(Measure.objects.in_bulk()))
    assert html_of("bench-sheet", sheet, people) == empty
    cells = dict(re.findall(r'class="found"[^>]* data-box="([^"]+)">(.*?)</td>', one_line(empty)))
    assert cells["ride-height.LF"] == "2 1/4"
    assert cells["stagger.front"].startswith("front")
    assert cells["weight.LF"] == ""


@pytest.mark.parametrize(
    ("step", "free", "letters"),
    [
        ("Rear axle", "left", "ABCDEF"),
        ("Front axle", "right", "ABCDEF"),
        ("Kingpin", "right", ""),
        ("Tyres", "", ""),
        ("Lead", "", ""),
    ],
)
def test_a_drawing_stands_where_no_wheel_has_a_box(
    sheet: Sheet, people: People, step: str, free: str, letters: str
) -> None:
    blank = steps_of(sheet, people)[step]
    assert blank.free == free
    assert bool(blank.drawing) == bool(letters)
    assert "".join(line.letter for line in blank.lines) == letters
    width = 2 if free else 4
    assert all(sum(cell.span for cell in line.cells) == width for line in blank.lines)


@pytest.mark.parametrize("paper", ["letter", "A4"])
def test_it_is_two_pages(sheet: Sheet, people: People, settings: Any, paper: str) -> None:
    settings.PRINT_PAPER = paper
    html = html_of("bench-sheet", sheet, people)
    made = render(Source(html, document_for("bench-sheet").styles))
    assert made.pages == 2
    pages = [page.extract_text() for page in PdfReader(io.BytesIO(made.content)).pages]
    assert all("found" in page and "RF" in page for page in pages), "its columns are named on both"
    assert "Looked over by" in pages[1]


def test_of_a_car_it_has_the_baselines_targets_and_leaves_the_day_open(
    garage: Garage, sheet: Sheet, people: People
) -> None:
    of_car = one_line(html_of("car-bench-sheet", garage.car, people))
    of_sheet = one_line(html_of("bench-sheet", sheet, people))
    lines = re.compile(r"<tbody>.*</tbody>")
    assert lines.findall(of_car) == lines.findall(of_sheet)
    assert "14 Mar 2026" in of_sheet
    assert "14 Mar 2026" not in of_car
    with viewing_as(people.crew.pk):
        assert list(Sheet.objects.all()) == [sheet], "it keeps none"


def test_both_are_offered(garage: Garage, sheet: Sheet, people: People, client: Client) -> None:
    client.force_login(people.crew)
    for path, key, subject in (
        (f"/sheets/{sheet.pk}/", "bench-sheet", sheet),
        (f"/cars/{garage.car.pk}/", "car-bench-sheet", garage.car),
    ):
        page = client.get(path).content.decode()
        assert f'value="{key}"' in page
        asked = client.post("/prints/ask", {"document": key, "subject_id": subject.pk})
        assert asked.status_code == 302, key


def test_nobody_else_can_ask_for_it(garage: Garage, sheet: Sheet, people: People) -> None:
    for who in (people.official, people.steward, people.rival, people.unlinked_coach):
        for key, subject in (("bench-sheet", sheet), ("car-bench-sheet", garage.car)):
            with viewing_as(who.pk), pytest.raises(Http404):
                document_for(key).subject(subject.pk)
