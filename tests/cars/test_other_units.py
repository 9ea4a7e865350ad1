"""Figures typed in another unit: beside what was typed, and short on the drawing."""

import re

import pytest
from django.test import Client

from cars.models import Sheet
from cars.sheets.actions.readings import take_typed
from cars.sheets.actions.sheets import close_sheet
from cars.sheets.presenters.drawing import ROOM, USUAL_SIZE, DrawnFigure
from cars.sheets.presenters.drawing import svg as figure_svg
from clubsetup.access.viewer import viewing_as
from clubsetup.printing.lettering import width_of
from clubsetup.printing.registry import document_for
from tests.cars.garage import Garage
from tests.markup import paper_of, table_of
from tests.people import People

TYPED = {
    "pressure.LR": "0,6 bar",
    "circumference.LR": "86,1 cm",
    "circumference.RR": "88 cm",
    "pressure.RR": "14",
}


@pytest.fixture
def sheet(garage: Garage, people: People) -> Sheet:
    with viewing_as(people.crew.pk):
        made = garage.sheet(people.crew)
        take_typed(by=people.crew, sheet=made, typed=TYPED)
        return close_sheet(by=people.crew, sheet=made)


def drawn(html: str) -> str:
    match = re.search(r'<svg class="car-above".*?</svg>', html, re.DOTALL)
    assert match
    return match[0]


def test_a_closed_sheet_shows_what_was_typed_beside_the_rounded_figure(
    client: Client, people: People, sheet: Sheet
) -> None:
    client.force_login(people.crew)
    cells = table_of(client.get(f"/sheets/{sheet.pk}/").content.decode())
    assert "about 8.7" in cells["pressure.LR"]
    assert "typed 0,6 bar" in cells["pressure.LR"]
    assert "14" in cells["pressure.RR"]
    assert "typed" not in cells["pressure.RR"], "an exact figure is said once"


def test_so_does_paper(people: People, sheet: Sheet) -> None:
    with viewing_as(people.crew.pk):
        html = document_for("sheet").html(sheet, people.crew)
    assert paper_of(html)["pressure.LR"].set == "about 8.7 0,6 bar"


def test_on_the_drawing_it_is_short_and_long_figures_are_smaller(
    client: Client, people: People, sheet: Sheet
) -> None:
    client.force_login(people.crew)
    svg = drawn(client.get(f"/sheets/{sheet.pk}/").content.decode())
    assert ">~8.7</text>" in svg
    assert "about" not in svg
    svg += figure_svg(DrawnFigure("height in", 0, 0, text="(~12 31/64)"))
    figures = re.findall(r'font-size="([\d.]+)" font-weight="\d00">([^<]+)</text></g>', svg)
    by_text = {text: float(size) for size, text in figures}
    assert by_text["14"] == USUAL_SIZE
    assert 12 < by_text["(~12 31/64)"] < USUAL_SIZE
    # However the typeface, a figure has no more room than there is beside a tyre.
    assert all(size * width_of(text) <= ROOM + 1 for text, size in by_text.items())
