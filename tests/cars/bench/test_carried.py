"""Figures copied to the sheet as set: judged, marked as carried, and not counted as read."""

import re
from typing import Any

import pytest
from django.test import Client

from cars.bench.presenters.bench_view import bench_view, whole_view
from cars.catalogue.keys import Key
from cars.lookups import find_sheet
from cars.models import Reading, Sheet
from cars.sheets.actions.conflicts import OVER_ANYTHING
from cars.sheets.actions.readings import take_same_again, take_typed
from cars.sheets.actions.replacing import put_back_reading
from cars.sheets.actions.set_sheet import open_set_sheet
from cars.sheets.actions.sheets import close_sheet, correct_sheet, edit_sheet, open_sheet
from cars.sheets.presenters.sheet_view import sheet_view
from cars.sheets.prints import setup_sheet_html
from cars.sheets.queries.sheets import sheets_of
from clubsetup.access.viewer import viewing_as
from tests.cars.garage import Garage, typed
from tests.markup import checks_on_paper, paper_of, set_of, tight
from tests.people import People

READ = {
    "ride-height.LF": "2 1/4",
    "wheelbase.left": "46 1/4",
    "wheelbase.right": "46 3/4",
    "nuts-bolts.car": "done",
}
HEIGHT = Key("ride-height", "LF")


@pytest.fixture
def found(garage: Garage, people: People) -> Sheet:
    with viewing_as(people.crew.pk):
        sheet = garage.sheet(people.crew, fuel=typed("volume", "0.3 gal"))
        take_typed(by=people.crew, sheet=sheet, typed=READ)
        return close_sheet(by=people.crew, sheet=sheet)


@pytest.fixture
def as_set(people: People, found: Sheet) -> Sheet:
    """Opened by the chief; the crew had read the car."""
    with viewing_as(people.chief.pk):
        sheet = find_sheet(open_set_sheet(by=people.chief, sheet=found).pk)
    assert sheet is not None
    return sheet


@pytest.fixture
def chief(client: Client, people: People) -> Client:
    client.force_login(people.chief)
    return client


def text_of(client: Client, path: str) -> str:
    return " ".join(client.get(path).content.decode().split())


def test_they_count_as_not_read_and_are_judged(people: People, as_set: Sheet) -> None:
    with viewing_as(people.chief.pk):
        view = whole_view(as_set, people.chief)
        assert (view.taken, view.carried) == (0, 4)
        box = view.box("ride-height", "LF")
        assert (str(box.judgement.outcome), box.words) == (
            "on target",
            "on target; carried from as found",
        )
        assert box.display == "(2 1/4 in)"
        assert view.box("lead", "car").words == "on target; from carried figures"
        assert view.box("nuts-bolts", "car").words == "not checked here; carried from as found"
        row = Reading.objects.get(sheet=as_set, measure="ride-height")
        first = Reading.objects.get(sheet=as_set.based_on, measure="ride-height")
        assert row.carried_from_id == first.pk
        (listed,) = (sheet for sheet in sheets_of([as_set.car]) if sheet.pk == as_set.pk)
        assert listed.taken == 0  # type: ignore[attr-defined]


def test_the_bench_says_so(chief: Client, as_set: Sheet) -> None:
    page = text_of(chief, f"/sheets/{as_set.pk}/bench/ride-heights/")
    assert "on target; carried from as found" in page
    assert '0 of 4</span> <span class="num carried">(1)</span>' in page
    assert 'name="again" value="ride-height.LF">Same again' in tight(page)
    checks = text_of(chief, f"/sheets/{as_set.pk}/bench/last-check/")
    assert "checked data-bench" not in checks, "what was checked as found is not checked as set"
    end = text_of(chief, f"/sheets/{as_set.pk}/bench/done")
    assert '<span class="num">4</span> carried from as found' in end


def test_the_sheets_page_and_its_print_say_so(chief: Client, people: People, as_set: Sheet) -> None:
    page = chief.get(f"/sheets/{as_set.pk}/").content.decode()
    assert set_of(page)["ride-height.LF"] == ("", "(2 1/4)")
    assert "( ) carried from as found, not read" in page
    assert "0 of 84 taken, 4 carried from as found" in page
    assert "0.3 gal, carried from as found" in page
    boxes = text_of(chief, f"/sheets/{as_set.pk}/readings")
    assert "on target; carried from as found" in boxes
    assert "1 carried" in boxes
    with viewing_as(people.chief.pk):
        printed = setup_sheet_html(as_set, people.chief)
    assert paper_of(printed)["ride-height.LF"].set == "(2 1/4)"
    assert "carried from as found, not read" in printed
    assert "0.3 gal, carried from as found" in printed
    assert {check.mark for check in checks_on_paper(printed).values()} == {"○"}


def test_the_api_says_so(chief: Client, people: People, as_set: Sheet) -> None:
    path = f"/api/v1/sheets/{as_set.pk}"
    step = chief.get(f"{path}/bench/ride-heights").json()
    box = next(b for m in step["measures"] for b in m["boxes"] if b["box"] == "ride-height.LF")
    with viewing_as(people.chief.pk):
        first = Reading.objects.get(sheet=as_set.based_on, measure="ride-height")
    assert box["carried"]["reading"] == str(first.pk)
    assert box["carried"]["by"] == str(people.crew)
    assert (step["tally"]["taken"], step["tally"]["carried"]) == (0, 1)
    evening = chief.get(f"{path}/bench").json()
    assert (evening["taken"], evening["carried"]) == (0, 4)
    boxes = chief.get(f"{path}/boxes").json()
    assert {b["measure"] for b in boxes if b["carried"]} == {
        *("ride-height", "wheelbase", "nuts-bolts", "lead")
    }
    assert chief.get(path).json()["fuel_carried"] is True
    rows = chief.get(f"/api/v1/readings?sheet={as_set.pk}").json()["results"]
    assert all(row["carried_from"] for row in rows)


def test_the_history_names_who_read_them(chief: Client, people: People, as_set: Sheet) -> None:
    page = text_of(chief, f"/sheets/{as_set.pk}/history")
    line = "carried over, not read: Ride height LF: 2 1/4"
    assert re.search(rf"<td[^>]*>{people.chief}</td><td[^>]*>{line}", tight(page))
    assert f"(read by {people.crew}, " in page
    lines = chief.get(f"/api/v1/sheets/{as_set.pk}/trail").json()
    told = next(each for each in lines if each["what"] == line)
    assert (told["by"], told["read_by"]) == (str(people.chief), str(people.crew))
    with viewing_as(people.chief.pk):
        first = Reading.objects.get(sheet=as_set.based_on, measure="ride-height")
    assert told["read_at"][:19] == first.taken_at.isoformat()[:19]


def test_read_again_it_is_read(people: People, as_set: Sheet) -> None:
    with viewing_as(people.chief.pk):
        take_same_again(by=people.chief, sheet=as_set, key=HEIGHT, seen=OVER_ANYTHING)
        box = sheet_view(as_set, people.chief).box("ride-height", "LF")
        assert (box.is_read, box.words) == (True, "on target")
        # Typed anew, it may say what was found there too.
        for spot, text in (("left", "46 1/4"), ("right", "46 3/4")):
            take_typed(by=people.chief, sheet=as_set, typed={f"wheelbase.{spot}": text})
        view = sheet_view(as_set, people.chief)
        assert (view.taken, view.carried) == (3, 1)
        assert view.box("lead", "car").words == "on target"


def test_a_check_is_ticked_anew(chief: Client, people: People, as_set: Sheet) -> None:
    path = f"/sheets/{as_set.pk}/bench/last-check/"
    with viewing_as(people.chief.pk):
        seen = str(Reading.objects.get(sheet=as_set, measure="nuts-bolts").pk)
    sent = {"seen": f'{{"nuts-bolts.car": ["{seen}", ""]}}', "nuts-bolts.car": "done"}
    chief.post(path, sent)
    with viewing_as(people.chief.pk):
        assert sheet_view(as_set, people.chief).box("nuts-bolts", "car").is_read


def test_a_figure_taken_back_is_carried_again(people: People, as_set: Sheet) -> None:
    with viewing_as(people.chief.pk):
        made = take_typed(by=people.chief, sheet=as_set, typed={"ride-height.LF": "2 1/2"})
        back = put_back_reading(by=people.chief, sheet=as_set, key=HEIGHT, seen=made[0].pk)
        assert back.by == people.crew, "still theirs"
        assert sheet_view(as_set, people.chief).box("ride-height", "LF").is_carried


def test_one_look_outweighs_what_was_carried(people: People, garage: Garage) -> None:
    with viewing_as(people.chief.pk):
        sheet = garage.sheet(people.chief)
        twice = {"ride-height.RR": "2 1/2", "ride-height.RR.2": "2 3/4"}
        take_typed(by=people.chief, sheet=sheet, typed=twice)
        as_set = open_set_sheet(by=people.chief, sheet=close_sheet(by=people.chief, sheet=sheet))
        take_typed(by=people.chief, sheet=as_set, typed={"ride-height.RR": "2"})
        here = bench_view(as_set, people.chief, "ride-heights")
        assert here.view.box("ride-height", "RR").shown == "2 in", "no mean of then and now"
        assert not any(box.repeats for box in here.boxes)


def test_a_correction_keeps_what_was_read_and_what_was_not(people: People, as_set: Sheet) -> None:
    with viewing_as(people.chief.pk):
        take_same_again(by=people.chief, sheet=as_set, key=HEIGHT, seen=OVER_ANYTHING)
        closed = close_sheet(by=people.chief, sheet=as_set)
        again = correct_sheet(by=people.chief, sheet=closed, reason="Misread.")
        view = sheet_view(again, people.chief)
        assert (view.taken, view.carried, again.fuel_carried) == (1, 3, True)


def test_a_target_is_nobodys_reading(people: People, garage: Garage, found: Sheet) -> None:
    with viewing_as(people.chief.pk):
        given: dict[str, Any] = {"role": "target", "based_on": found, "with_readings": True}
        target = open_sheet(by=people.chief, car=garage.car, **given)
        assert sheet_view(target, people.chief).carried == 0


class TestFuel:
    def head(self, people: People, sheet: Sheet, text: str) -> Sheet:
        names = ("made_on", "surface", "driver", "track", "baseline", "note")
        given: dict[str, Any] = {name: getattr(sheet, name) for name in names}
        with viewing_as(people.chief.pk):
            return edit_sheet(
                by=people.chief, sheet=sheet, fuel=typed("volume", text) if text else None, **given
            )

    def test_goes_along_as_carried(self, as_set: Sheet) -> None:
        assert (as_set.fuel_typed, as_set.fuel_carried) == ("0.3 gal", True)
        assert as_set.based_on is not None
        assert as_set.fuel == as_set.based_on.fuel

    @pytest.mark.parametrize(("text", "carried"), [("0.3 gal", True), ("0.5 gal", False)])
    def test_noted_anew_it_is_this_sheets_own(
        self, people: People, as_set: Sheet, text: str, carried: bool
    ) -> None:
        again = self.head(people, as_set, text)
        assert again.fuel_carried is carried

    def test_emptied_it_says_nothing(self, people: People, as_set: Sheet) -> None:
        again = self.head(people, as_set, "")
        assert (again.fuel_text, again.fuel_carried) == ("", False)
