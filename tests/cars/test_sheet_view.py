"""A whole sheet as somebody reads it."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from cars.catalogue.queries import cached_catalogue
from cars.lookups import find_sheet
from cars.models import Measure, Sheet
from cars.sheets.actions.readings import take_typed
from cars.sheets.actions.sheets import close_sheet, correct_sheet, open_sheet
from cars.sheets.presenters.drawing import DRAWN, drawing_of
from cars.sheets.presenters.sheet_view import SheetView, sheet_view
from clubsetup.access.models import User
from clubsetup.access.viewer import viewing_as
from tests.cars.filling import everything
from tests.cars.garage import Garage
from tests.people import People

FIGURES = {
    "ride-height.LF": "2 1/4",
    "ride-height.RF": "2 5/8",
    "ride-height.LR": "2 5/16",
    "wheelbase.left": "46 1/4",
    "wheelbase.right": "46 3/4",
    "weight.LF": "80",
    "weight.RF": "60",
    "weight.LR": "90",
    "weight.RR": "70",
    "camber.left": "1.5",
    "block-marks.left": "2 / 1",
}


def view_for(sheet: Sheet, who: User) -> SheetView:
    read = find_sheet(sheet.pk)
    assert read is not None
    return sheet_view(read, who)


@pytest.fixture
def sheet(garage: Garage, people: People) -> Sheet:
    with viewing_as(people.crew.pk):
        sheet = garage.sheet(people.crew)
        take_typed(by=people.crew, sheet=sheet, typed=FIGURES)
    return sheet


def test_each_box_says_what_its_figure_is_to_its_target(sheet: Sheet, people: People) -> None:
    with viewing_as(people.crew.pk):
        view = view_for(sheet, people.crew)
        said = {str(key): (box.shape, box.words) for key, box in view.boxes.items()}
    assert said["ride-height.LF"] == ("✓", "on target")
    assert said["ride-height.RF"] == ("▲", "off by 1/4 in, high")
    assert said["ride-height.LR"] == ("≈", "too close to tell")
    assert said["ride-height.RR"] == ("○", "not taken")
    assert said["camber.left"] == ("·", "noted")  # no target for it
    assert said["block-marks.left"] == ("·", "noted")
    assert said["lead.car"] == ("✓", "on target")
    # (60 + 90) / 300 = 50 %, wanted 52 ± 0.5; left (80 + 90) / 300 = 56.7 %, wanted 55 ± 0.5
    assert said["cross.car"] == ("▼", "off by 2.0%, less cross")
    assert said["left-share.car"] == ("▲", "off by 1.7%, more left")
    assert view.box("total-weight", "car").shown == "300 lb"
    assert (view.taken, view.off) == (len(FIGURES), 3)


def test_the_same_sheet_in_another_persons_units(sheet: Sheet, people: People) -> None:
    with viewing_as(people.guest.pk):
        people.guest.preferred_units = {"length": "mm", "mass": "kg"}
        view = view_for(sheet, people.guest)
        height = view.box("ride-height", "RF")
        assert (height.text, height.shown) == ("2 5/8 in", "about 66.7 mm")
        assert (height.target, height.words) == ("about 60.3", "off by 6.35 mm, high")
        assert view.box("weight", "LF").text == "80 lb"
        assert view.box("total-weight", "car").shown == "about 136.08 kg"
        assert view.box("camber", "left").text == "1.5"


def test_the_sheet_before_stands_beside_it(sheet: Sheet, garage: Garage, people: People) -> None:
    with viewing_as(people.crew.pk):
        as_set = open_sheet(by=people.crew, car=garage.car, role="set", based_on=sheet)
        take_typed(by=people.crew, sheet=as_set, typed={"ride-height.RF": "2 3/8"})
        view = view_for(as_set, people.crew)
        assert view.before_word == "found"
        assert view.box("ride-height", "RF").before == "2 5/8"
        assert view.box("cross", "car").before == "50.0"
        assert view.box("cross", "car").words == "not taken"


def test_a_sheet_without_a_baseline_judges_nothing(garage: Garage, people: People) -> None:
    with viewing_as(people.crew.pk):
        sheet = open_sheet(by=people.crew, car=garage.car, role="found", surface="dirt")
        take_typed(by=people.crew, sheet=sheet, typed=FIGURES)
        view = view_for(sheet, people.crew)
        assert (view.judged, view.off) == (0, 0)
        assert view.box("cross", "car").shown == "50.0%"


def test_the_drawing_carries_the_figures_at_their_corners(sheet: Sheet, people: People) -> None:
    with viewing_as(people.crew.pk):
        drawing = drawing_of(view_for(sheet, people.crew))
    texts = {(f.name, f.anchor, f.text) for f in drawing.figures}
    assert ("weight lb", "end", "90") in texts
    assert ("weight lb", "start", "70") in texts
    assert ("cross", "50.0%", "bad", "▼") in {
        (s.name, s.text, s.state, s.shape) for s in drawing.sums
    }
    left = [f for f in drawing.figures if f.text in ("80", "90")]
    right = [f for f in drawing.figures if f.text in ("60", "70")]
    assert max(f.x for f in left) < min(f.x for f in right)
    places = [(f.x, f.y) for f in drawing.figures]
    assert len(places) == len(set(places))


def queries(sheet: Sheet, who: User) -> int:
    with viewing_as(who.pk), CaptureQueriesContext(connection) as captured:
        view_for(sheet, who)
    return len(captured)


def test_as_many_queries_for_one_reading_as_for_eighty(garage: Garage, people: People) -> None:
    by = people.crew
    counts = []
    with viewing_as(by.pk):
        cached_catalogue()  # read once a process
        sheet = garage.sheet(by)
        filled = everything(Measure.objects.in_bulk())
    names = list(filled)
    for some in (names[:1], names[:3], names):
        with viewing_as(by.pk):
            take_typed(by=by, sheet=sheet, typed={name: filled[name] for name in some})
        counts.append(queries(sheet, by))
    assert len(set(counts)) == 1
    assert counts[0] <= 7


def test_the_boxes_that_are_drawn_are_judged_and_written_as_in_the_whole_sheet(
    sheet: Sheet, people: People
) -> None:
    """And the rest are counted alike, without words."""
    with viewing_as(people.crew.pk):
        whole = view_for(sheet, people.crew)
        read = find_sheet(sheet.pk)
        assert read is not None
        drawn = sheet_view(read, people.crew, written=DRAWN)
    assert drawing_of(drawn) == drawing_of(whole)
    assert drawn.judged_words == whole.judged_words
    assert [(s.taken, s.of, s.off, s.close, s.retakes) for s in drawn.steps] == [
        (s.taken, s.of, s.off, s.close, s.retakes) for s in whole.steps
    ]
    assert whole.boxes.keys() - DRAWN
    for key, box in drawn.boxes.items():
        assert (box.words == whole.boxes[key].words) is (key in DRAWN), key


def test_versions_are_found_from_each_other(sheet: Sheet, people: People) -> None:
    with viewing_as(people.crew.pk):
        close_sheet(by=people.crew, sheet=sheet)
        second = correct_sheet(by=people.crew, sheet=sheet, reason="wrong corner")
        first, again = find_sheet(sheet.pk), find_sheet(second.pk)
        assert first is not None
        assert again is not None
        assert first.corrected_by == second
        assert again.corrects == sheet
        assert view_for(second, people.crew).taken == len(FIGURES)
