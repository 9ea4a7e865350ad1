"""Two to twelve sheets side by side: what is apart, what is not compared, and who may ask."""

import csv
import zipfile
from decimal import Decimal
from io import BytesIO, StringIO
from typing import Any
from uuid import UUID, uuid4

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from cars.baselines.actions.chassis import add_chassis
from cars.garage.actions.cars import add_car
from cars.garage.actions.parts import add_part
from cars.history.actions.comparisons import print_comparison
from cars.history.presenters.comparison import ComparisonView, Row, show_comparison
from cars.history.queries.comparison import compare_sheets
from cars.history.responses import harmless
from cars.models import Comparison, Part, Sheet
from cars.sheets.actions.parts_fitted import fit_part
from cars.sheets.actions.readings import take_typed
from cars.sheets.actions.set_sheet import note_change
from clubsetup.access.errors import Invalid
from clubsetup.access.ids import new_id
from clubsetup.access.models import User
from clubsetup.access.viewer import viewing_as
from clubsetup.printing.models import PrintJob
from clubsetup.printing.registry import document_for
from teams.actions.teams import unlink_coach
from teams.models import CoachLink
from tests.cars.garage import Garage
from tests.cars.plans.evening import Evening, make_evening
from tests.markup import one_line
from tests.people import People

SEES = ("chief", "crew", "guest", "coach")
SEES_NOT = ("unlinked_coach", "official", "other_official", "steward", "rival", "stranger")


def another(evening: Evening, **typed: str) -> Sheet:
    """A sheet as the evening's, with some figures others: 'cross__car' names a box."""
    sheet = make_evening(evening.garage, evening.by).sheet
    if typed:
        named = {name.replace("__", ".").replace("_", "-"): text for name, text in typed.items()}
        take_typed(by=evening.by, sheet=sheet, typed=named)
    return sheet


def shown(by: User, *sheets: Sheet) -> ComparisonView:
    return show_comparison(compare_sheets([sheet.pk for sheet in sheets]), by)


def named(rows: list[Row]) -> dict[str, Row]:
    return {row.name: row for row in rows}


def test_a_sheet_as_another_is_apart_in_nothing(evening: Evening) -> None:
    with viewing_as(evening.by.pk):
        view = shown(evening.by, evening.sheet, another(evening))
    assert view.apart == []
    assert {"Ride height LF", "Cross %", "Weight RR"} & named(view.alike).keys()
    assert view.lede.startswith("Nothing is apart")


def test_what_is_apart_comes_furthest_first_in_tolerances_of_the_target(evening: Evening) -> None:
    with viewing_as(evening.by.pk):
        evening.take({"pressure.LF": "9", "pressure.RF": "12", "ride-height.LF": "2 1/4"})
        other = another(evening, pressure__LF="11", pressure__RF="15", ride_height__LF="2 5/16")
        view = shown(evening.by, evening.sheet, other)
        turned = shown(evening.by, other, evening.sheet)
    rows = named(view.apart)
    # 2 psi at ± 0.5; of the right front no target is set, and the usual tolerance says so.
    assert rows["Cold pressure LF"].apart == "4.0"
    assert rows["Cold pressure LF"].cells[1].difference == "+2"
    assert named(turned.apart)["Cold pressure LF"].cells[1].difference == "−2"
    assert rows["Cold pressure RF"].tolerance.endswith("the usual")
    sizes = [float(row.apart) for row in view.apart]
    assert sizes == sorted(sizes, reverse=True)
    # A sixteenth on a tape of sixteenths is no more than the tape can tell.
    assert "Ride height LF" in named(view.alike)


def test_missing_is_not_equal_and_a_retake_is_not_compared(evening: Evening) -> None:
    with viewing_as(evening.by.pk):
        evening.take({"pressure.LF": "9"})
        other = another(evening)
        note_change(
            by=evening.by,
            sheet=other,
            adjuster="spring-seat",
            spot="RF",
            amount=Decimal(1),
            unit="turn",
        )
        view = shown(evening.by, evening.sheet, other)
    left = named(view.not_compared)
    assert left["Cold pressure LF"].cells[1].words == "not taken"
    assert left["Weight RF"].cells[1].words == "retake, not compared"
    # A computed figure follows what it is computed from.
    assert left["Cross"].cells[1].look == "again"
    assert "Weight RF" not in named(view.alike)


def test_of_another_chassis_only_what_means_the_same_is_compared(
    evening: Evening, people: People
) -> None:
    with viewing_as(people.steward.pk):
        chassis = add_chassis(by=people.steward, club=people.club, name="Marl 27")
    with viewing_as(evening.by.pk):
        car = add_car(by=evening.by, team=people.team, number="7x", name="", chassis=chassis)
        garage = Garage(chassis, evening.garage.baseline, car)
        other = make_evening(garage, evening.by).sheet
        view = shown(evening.by, evening.sheet, other)
    assert named(view.not_compared)["Ride height LF"].cells[1].words.startswith("another chassis")
    assert "Weight LF" in named(view.alike)


def test_codes_are_shown_to_whoever_may_see_them(evening: Evening, people: People) -> None:
    with viewing_as(evening.by.pk):
        other = another(evening)
        for sheet, code in ((evening.sheet, "blue 4"), (other, "red 9")):
            part = add_part(by=evening.by, team=people.team, sort=Part.Sort.TYRE, code=code)
            fit_part(by=evening.by, sheet=sheet, sort=part.sort, spot="RF", part=part, seen=None)
        (row,) = shown(evening.by, evening.sheet, other).words
        assert [cell.text for cell in row.cells] == ["blue 4", "red 9"]
    with viewing_as(people.coach.pk):
        assert shown(people.coach, evening.sheet, other).words == []


@pytest.mark.parametrize("who", [*SEES, *SEES_NOT])
def test_who_sees_it(client: Client, evening: Evening, people: People, who: str) -> None:
    """A sheet that is not one's to see is as one that is not there, on every way out."""
    person = getattr(people, who)
    with viewing_as(evening.by.pk):
        other = another(evening, pressure__LF="11")
    client.force_login(person)
    there = f"{evening.sheet.pk},{other.pk}"
    ways: list[tuple[str, dict[str, str]]] = [
        ("/compare", {}),
        ("/api/v1/compare", {}),
        ("/compare/file", {"as": "csv"}),
        ("/compare/file", {"as": "xlsx"}),
    ]
    for address, more in ways:
        answer = client.get(address, {"sheets": there, **more})
        nowhere = client.get(address, {"sheets": f"{uuid4()},{uuid4()}", **more})
        assert nowhere.status_code == 400
        assert answer.status_code == (200 if who in SEES else 400), address
        if who in SEES_NOT:
            assert _refusal(answer) == _refusal(nowhere)
    printed = client.post("/compare/print", {"sheets": there})
    assert printed.status_code == (302 if who in SEES else 400)
    with viewing_as(person.pk):
        assert PrintJob.objects.count() == Comparison.objects.count() == (who in SEES)
        chosen = client.get("/compare/choose", {"sheets": there}).content.decode()
        assert (str(other.pk) in chosen) == (who in SEES)


def _refusal(answer: Any) -> str:
    text = one_line(answer.content.decode())
    begin = text.index("There is no such sheet")
    return text[begin : begin + 80]


@pytest.mark.parametrize("to", ["/compare", "/api/v1/compare"])
def test_wrong_input_is_answered_in_a_sentence(client: Client, evening: Evening, to: str) -> None:
    with viewing_as(evening.by.pk):
        other = another(evening)
    client.force_login(evening.by)
    one, two = str(evening.sheet.pk), str(other.pk)
    for asked, says in (
        ([], "two to twelve"),
        ([one], "two to twelve"),
        ([one, *(str(uuid4()) for _ in range(12))], "That was 13"),
        ([one, "nonsense"], "the id of none"),
        ([one, two, one], "there twice"),
        ([one, str(uuid4())], "number 2"),
    ):
        answer = client.get(to, {"sheets": ",".join(asked)})
        assert answer.status_code == 400
        assert says in one_line(answer.content.decode())
        if to == "/compare":
            assert answer.content.decode().count("checked>") == len(set(asked) & {one, two})


def test_as_many_queries_for_twelve_sheets_as_for_two(client: Client, evening: Evening) -> None:
    with viewing_as(evening.by.pk):
        sheets = [evening.sheet, *(another(evening) for _ in range(11))]
    client.force_login(evening.by)
    for address in ("/compare", "/api/v1/compare"):
        counts = []
        for many in (2, 2, 12):  # the first fills what is kept for a minute
            ids = ",".join(str(sheet.pk) for sheet in sheets[:many])
            with CaptureQueriesContext(connection) as asked:
                assert client.get(address, {"sheets": ids}).status_code == 200
            counts.append(len(asked))
        assert counts[1] == counts[2], counts


def test_cars_are_compared_by_their_newest_sheets_as_set(client: Client, evening: Evening) -> None:
    with viewing_as(evening.by.pk):
        car = add_car(
            by=evening.by,
            team=evening.garage.car.team,
            number="8",
            name="",
            chassis=evening.garage.chassis,
        )
        newest = another(evening)
    client.force_login(evening.by)
    cars = f"{evening.garage.car.pk},{car.pk}"
    refused = client.get("/compare", {"cars": cars})
    assert refused.status_code == 400
    assert "no sheet as set" in refused.content.decode()
    with viewing_as(evening.by.pk):
        make_evening(Garage(evening.garage.chassis, evening.garage.baseline, car), evening.by)
    page = client.get("/compare", {"cars": cars}).content.decode()
    assert str(newest.pk) in page
    assert str(evening.sheet.pk) not in page


def test_another_sheet_can_be_the_one_held_against(client: Client, evening: Evening) -> None:
    with viewing_as(evening.by.pk):
        other = another(evening)
    client.force_login(evening.by)
    asked = {"sheets": f"{evening.sheet.pk},{other.pk}"}
    for given, first in ((asked, evening.sheet), ({**asked, "against": str(other.pk)}, other)):
        page = client.get("/compare", given).content.decode()
        assert page.index(f"/sheets/{first.pk}") < page.index("the others are held against it")


def test_files_hold_numbers_and_harmless_text(client: Client, evening: Evening) -> None:
    with viewing_as(evening.by.pk):
        car = evening.garage.car
        evening.take({"pressure.LF": "9", "camber.right": "-3"})
        other = another(evening, pressure__LF="11", camber__right="-1")
    client.force_login(evening.by)
    asked = {"sheets": f"{evening.sheet.pk},{other.pk}"}
    text = client.get("/compare/file", {**asked, "as": "csv"}).content.decode("utf-8-sig")
    head, *lines = list(csv.reader(StringIO(text)))
    assert head[6].startswith(f"A: {car}")
    pressure = next(line for line in lines if line[0] == "Cold pressure LF")
    assert pressure[1:] == ["psi", "apart", "4", "9", "0.5", "9", "11"]
    camber = next(line for line in lines if line[0] == "Camber right")
    assert camber[6:] == ["-3", "-1"]
    content = client.get("/compare/file", {**asked, "as": "xlsx"}).content
    with zipfile.ZipFile(BytesIO(content)) as book:
        sheet = book.read("xl/worksheets/sheet1.xml").decode()
    assert "<f>" not in sheet
    assert "<v>-3</v>" in sheet
    assert client.get("/compare/file", {**asked, "as": "pdf"}).status_code == 400


@pytest.mark.parametrize("text", ["=1+1", "+1", "-x", "@a", "\t=1", " =1"])
def test_text_that_begins_as_a_formula_is_marked_as_text(text: str) -> None:
    assert harmless(text) == f"'{text}"
    assert harmless(f"a{text}") == f"a{text}"


def test_the_print_shows_what_the_person_may_see_when_it_is_made(
    evening: Evening, people: People
) -> None:
    with viewing_as(evening.by.pk):
        sheets = [evening.sheet, *(another(evening, pressure__LF="11") for _ in range(4))]
        ids: list[UUID] = [sheet.pk for sheet in sheets]
        print_comparison(by=evening.by, sheets=ids)
        print_comparison(by=evening.by, sheets=ids)
        kept = Comparison.objects.get()
        html = document_for("comparison").page(kept, evening.by)
    assert "Five sheets side by side" in html
    assert "landscape" in html
    with viewing_as(people.stranger.pk), pytest.raises(Invalid):
        print_comparison(by=people.stranger, sheets=ids)


def test_a_coach_who_is_let_in_no_more_sees_the_kept_comparison_no_more(
    evening: Evening, people: People
) -> None:
    with viewing_as(evening.by.pk):
        other = another(evening)
    with viewing_as(people.coach.pk):
        print_comparison(by=people.coach, sheets=[evening.sheet.pk, other.pk])
        assert Comparison.objects.count() == 1
    with viewing_as(evening.by.pk):
        unlink_coach(by=evening.by, link=CoachLink.objects.get(coach=people.coach))
    with viewing_as(people.coach.pk):
        assert not Comparison.objects.exists()


def test_a_print_is_asked_for_over_the_api_once(
    client: Client, evening: Evening, people: People
) -> None:
    with viewing_as(evening.by.pk):
        other = another(evening)
    client.force_login(people.chief)
    sent = {"id": str(new_id()), "sheets": [str(evening.sheet.pk), str(other.pk)]}

    def ask(**more: Any) -> Any:
        return client.post("/api/v1/compare/prints", {**sent, **more}, "application/json")

    made = ask()
    assert made.status_code == 201
    assert made.json()["document"] == "comparison"
    assert ask().json()["id"] == made.json()["id"] == sent["id"]
    for wrong in ([sent["sheets"][0]], [sent["sheets"][0]] * 2, [sent["sheets"][0], str(new_id())]):
        refused = ask(id=str(new_id()), sheets=wrong)
        assert refused.status_code == 400
        assert refused.json()["errors"][0]["pointer"] == "#/sheets"
    client.force_login(people.rival)
    assert ask(id=str(new_id())).status_code == 400
    with viewing_as(people.chief.pk):
        assert PrintJob.objects.count() == 1
