"""The setup sheet on paper."""

import io
import re

import pytest
from pypdf import PdfReader

from cars.actions.readings import take_typed
from cars.actions.remarks import comment
from cars.actions.sheets import close_sheet, correct_sheet
from cars.models import Measure, Sheet
from clubsetup.access.viewer import viewing_as
from clubsetup.printing.registry import document_for
from clubsetup.printing.render import Source, render
from tests.cars.filling import everything
from tests.cars.garage import Garage
from tests.people import People


@pytest.fixture
def full(garage: Garage, people: People) -> Sheet:
    with viewing_as(people.crew.pk):
        sheet = garage.sheet(people.crew, note="Cool <evening>")
        take_typed(by=people.crew, sheet=sheet, typed=everything(Measure.objects.in_bulk()))
        comment(by=people.crew, sheet=sheet, text="Left rear comes back low.")
    return sheet


def test_a_full_sheet_is_two_letter_pages_with_everything_on_them(
    full: Sheet, people: People
) -> None:
    document = document_for("sheet")
    with viewing_as(people.crew.pk):
        html = document.html(full, people.crew)
    made = render(Source(html, document.styles))
    reader = PdfReader(io.BytesIO(made.content))
    assert made.pages == len(reader.pages) == 2
    assert [float(n) for n in reader.pages[0].mediabox[2:]] == [612, 792]  # Letter, in points
    text = " ".join(" ".join(page.extract_text() for page in reader.pages).split())
    for wanted in (
        *("Setup sheet as found", "Osprey 6", "14 Mar 2026", "Cool <evening>", "2 1/4 in"),
        *("51.9%", "Left rear comes back low.", "page 2 of 2"),
        *("appointed officials decide", "stands that cannot roll", "Looked over by"),
    ):
        assert wanted in text
    for name in Measure.objects.values_list("name", flat=True):
        assert name in text


def test_the_figures_stand_on_the_drawing_too(full: Sheet, people: People) -> None:
    with viewing_as(people.crew.pk):
        html = document_for("sheet").html(full, people.crew)
    svg = re.search(r"<svg.*?</svg>", html, re.DOTALL)
    assert svg
    for text in ("2 5/16 in", "74.5 lb", "285 lb", "1/2 in"):
        assert text in svg[0]


def test_an_empty_sheet_can_be_printed_to_fill_in_by_hand(garage: Garage, people: People) -> None:
    with viewing_as(people.crew.pk):
        sheet = garage.sheet(people.crew)
        html = document_for("sheet").html(sheet, people.crew)
    ticks = [m for m in Measure.objects.all() if m.taken == "done" for _ in m.spots]
    assert html.count("☐") == len(ticks) > 10
    assert "2 1/4 ± 1/16" in html
    assert render(Source(html, document_for("sheet").styles)).pages == 2


def test_the_same_sheet_prints_the_same(full: Sheet, people: People) -> None:
    document = document_for("sheet")
    with viewing_as(people.crew.pk):
        first, second = (
            Source(document.html(full, people.crew), document.styles).digest() for _ in range(2)
        )
    assert first == second


def test_paper_shows_no_one_what_they_may_not_see(full: Sheet, people: People) -> None:
    for who in (people.official, people.steward, people.rival, people.unlinked_coach):
        with viewing_as(who.pk):
            assert not Sheet.objects.filter(pk=full.pk).exists()


def test_a_corrected_sheet_names_its_version(full: Sheet, people: People) -> None:
    title = document_for("sheet").title
    with viewing_as(people.crew.pk):
        closed = close_sheet(by=people.crew, sheet=full)
        second = correct_sheet(by=people.crew, sheet=closed, reason="Read wrongly")
        assert title(second) == f"{title(full)}, version 2"
    assert "version" not in title(full)
