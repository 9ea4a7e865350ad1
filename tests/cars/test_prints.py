"""The setup sheet on paper."""

import io
import re
from html import unescape
from typing import Any

import pytest
from django.test import Client
from pypdf import PdfReader

from cars.baselines.actions.mounts import add_mount
from cars.garage.actions.ballast import add_ballast_piece
from cars.models import Measure, Sheet
from cars.plans.actions.ballast import fit_ballast
from cars.sheets.actions.comments import add_comment
from cars.sheets.actions.conflicts import OVER_ANYTHING
from cars.sheets.actions.readings import take_typed
from cars.sheets.actions.set_sheet import note_change, open_set_sheet
from cars.sheets.actions.sheets import close_sheet, correct_sheet
from cars.sheets.presenters.exceptions import exceptions_of
from cars.sheets.presenters.sheet_view import sheet_view
from clubsetup.access.viewer import viewing_as
from clubsetup.plots.marks import PATHS
from clubsetup.printing.registry import document_for
from clubsetup.printing.render import Source, render
from tests.cars.filling import everything
from tests.cars.garage import Garage, typed
from tests.markup import OnPaper, checks_on_paper, one_line, paper_of, set_of
from tests.people import People


@pytest.fixture
def full(garage: Garage, people: People) -> Sheet:
    with viewing_as(people.crew.pk):
        sheet = garage.sheet(people.crew, note="Cool <evening>")
        take_typed(by=people.crew, sheet=sheet, typed=everything(Measure.objects.in_bulk()))
        add_comment(by=people.crew, sheet=sheet, text="Left rear comes back low.")
    return sheet


def test_a_full_sheet_is_one_letter_page_with_everything_on_it(full: Sheet, people: People) -> None:
    document = document_for("sheet")
    with viewing_as(people.crew.pk):
        html = document.html(full, people.crew)
    made = render(Source(html, document.styles))
    reader = PdfReader(io.BytesIO(made.content))
    assert made.pages == len(reader.pages) == 1
    assert [float(n) for n in reader.pages[0].mediabox[2:]] == [612, 792]  # Letter, in points
    text = " ".join(" ".join(page.extract_text() for page in reader.pages).split())
    for wanted in (
        *("as found", "Osprey 6", "14 Mar 2026", "Cool <evening>", "2 1/4", "cross 51.9%"),
        *("Left rear comes back low.", "page 1 of 1", "of 84 taken"),
        *("appointed officials decide", "Looked over by"),
    ):
        assert wanted in text
    for name in Measure.objects.values_list("name", flat=True):
        assert name.lower() in text.lower()


def test_the_figures_stand_on_the_drawing_too(full: Sheet, people: People) -> None:
    with viewing_as(people.crew.pk):
        html = document_for("sheet").html(full, people.crew)
    svg = re.search(r"<svg.*?</svg>", html, re.DOTALL)
    assert svg
    for text in (">2 5/16</text>", ">74.5</text>", "weight lb", "cold psi"):
        assert text in svg[0]
    assert "total 285 lb" in one_line(html)


def test_what_is_off_comes_first_with_its_strip(full: Sheet, people: People) -> None:
    with viewing_as(people.crew.pk):
        html = document_for("sheet").html(full, people.crew)
        view = sheet_view(full, people.crew)
    told = exceptions_of(view)
    before = html.partition("<thead>")[0]
    assert told.title in before
    assert before.count('class="gauge"') == sum(bool(one.strip) for one in told.first) > 2
    for one in told.first:
        assert one.name in before
        assert one.words in one_line(before)
    assert not told.more


def test_past_the_first_few_exceptions_it_says_how_many_are_marked(
    garage: Garage, people: People
) -> None:
    off = {f"ride-height.{corner}": "5" for corner in ("LF", "RF", "LR", "RR")}
    off |= {"pressure.LF": "20", "pressure.RR": "5"}
    off |= {"wheelbase.left": "40", "wheelbase.right": "48"}  # and lead, which follows
    with viewing_as(people.crew.pk):
        sheet = garage.sheet(people.crew)
        take_typed(by=people.crew, sheet=sheet, typed=off)
        html = document_for("sheet").html(sheet, people.crew)
        told = exceptions_of(sheet_view(sheet, people.crew))
    assert len(told.more) > 1
    assert f"{len(told.more)} more, marked in the table below." in one_line(html)
    marked = [box for box, place in paper_of(html).items() if place.mark]
    assert len(marked) == len(told.first) + len(told.more)


def test_no_sign_on_it_is_a_character_of_the_typeface(moved: Sheet, people: People) -> None:
    with viewing_as(people.crew.pk):
        html = document_for("sheet").html(moved, people.crew)
    assert not set("✓✕▲▼≈↻○☐☑⚠■□") & set(html)
    assert PATHS["again"] in html
    assert PATHS["tick"] in html or PATHS["ring"] in html


@pytest.mark.parametrize("paper", ["letter", "A4"])
def test_an_empty_sheet_is_one_page(
    garage: Garage, people: People, settings: Any, paper: str
) -> None:
    settings.PRINT_PAPER = paper
    with viewing_as(people.crew.pk):
        sheet = garage.sheet(people.crew)
        html = document_for("sheet").html(sheet, people.crew)
    assert paper_of(html)["ride-height.LF"] == OnPaper("", "", target="2 1/4")
    assert render(Source(html, document_for("sheet").styles)).pages == 1


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


# What is printed is what the page says


def printed(sheet: Sheet, who: Any) -> dict[str, OnPaper]:
    """What stands in each place of the printed sheet, by box."""
    with viewing_as(who.pk):
        html = document_for("sheet").html(sheet, who)
    return paper_of(html) | checks_on_paper(html)


def said_on_page(sheet: Sheet, who: Any) -> dict[str, tuple[str, str]]:
    """Each figure of the page of a sheet: its mark, if it is an exception, and itself."""
    client = Client()
    client.force_login(who)
    return set_of(client.get(f"/sheets/{sheet.pk}/").content.decode())


@pytest.fixture
def moved(full: Sheet, garage: Garage, people: People) -> Sheet:
    """As left: ballast was fitted and a pressure changed after everything was read."""
    where: dict[str, Any] = {side: typed("length", "10") for side in ("x", "y")}
    with viewing_as(people.steward.pk):
        mount = add_mount(
            by=people.steward,
            chassis=garage.chassis,
            name="Rail",
            capacity=typed("mass", "40"),
            **where,
        )
    by = people.chief
    with viewing_as(by.pk):
        as_set = open_set_sheet(by=by, sheet=close_sheet(by=by, sheet=full))
        piece = add_ballast_piece(
            by=by, team=people.team, label="7", marked_mass=typed("mass", "12 lb")
        )
        fit_ballast(by=by, sheet=as_set, moves=[(piece.pk, mount.pk)], seen=OVER_ANYTHING)
    return as_set


def test_a_check_to_be_done_again_is_not_printed_as_done(moved: Sheet, people: People) -> None:
    places = printed(moved, people.crew)
    for box in ("nuts-bolts.car", "wheels-tight.LF", "brakes.car", "ballast-fixed.car"):
        assert places[box].mark == "↻"
        assert places[box].set.endswith("check again")
    # Nothing that it rests on was changed, but it was done on the sheet as found, not on this one.
    assert places["steering-centred.car"] == OnPaper("○", "steering centred")


def test_the_ballast_of_before_is_not_printed_as_that_on_the_car(
    moved: Sheet, people: People
) -> None:
    places = printed(moved, people.crew)
    assert (places["ballast-total.car"].mark, places["ballast-total.car"].set) == ("↻", "20")
    for box, before in (("weight.LF", "74.5"), ("total-weight.car", "285"), ("cross.car", "51.9")):
        assert (places[box].mark, places[box].set) == ("↻", before)
    with viewing_as(people.crew.pk):
        html = document_for("sheet").html(moved, people.crew)
        take_typed(by=people.crew, sheet=moved, typed={"ballast-total.car": "32"})
    drawn = rf'weight lb</text><path[^>]*d="{re.escape(PATHS["again"])}"/><text[^>]*>74.5<'
    assert re.search(drawn, html)
    assert "to retake" in html
    assert printed(moved, people.crew)["ballast-total.car"] == OnPaper("", "32", found="20")


@pytest.mark.parametrize("units", [{}, {"length": "mm", "mass": "kg", "pressure": "bar"}])
def test_every_figure_is_printed_as_the_page_says_it(
    moved: Sheet, people: People, units: dict[str, str]
) -> None:
    with viewing_as(people.chief.pk):
        people.chief.preferred_units = units
        people.chief.save(update_fields=["preferred_units"])
        closed = close_sheet(by=people.chief, sheet=moved)
    page, paper = said_on_page(closed, people.chief), printed(closed, people.chief)
    assert set(page) < set(paper)
    assert len(page) > 75
    for box, (shape, figure) in page.items():
        assert paper[box].mark == shape, box
        # The word stands before the bracket there, and is small.
        said = unescape(figure).replace("about ", "", 1)
        assert paper[box].set.removeprefix("about ").startswith(said), box
    marks = {shape for shape, _ in page.values()}
    assert "↻" in marks


def test_what_was_carried_stands_in_brackets(full: Sheet, people: People) -> None:
    with viewing_as(people.crew.pk):
        closed = close_sheet(by=people.crew, sheet=full)
        as_set = open_set_sheet(by=people.crew, sheet=closed)
        one = typed("turns", "1").value
        note_change(
            by=people.crew, sheet=as_set, adjuster="pressure", spot="LF", amount=one, unit="psi"
        )
    places = printed(as_set, people.crew)
    assert (places["circumference.LF"].mark, places["circumference.LF"].set) == ("↻", "33 1/2")
    assert places["rear-bar.left"].set == "(10 1/2)"
