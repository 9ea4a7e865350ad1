"""What is changed on a car as found is noted on the sheet as set; the found one stays."""

from decimal import Decimal
from typing import Any

import pytest
from django.test import Client

from cars.figures.judgement import FigureOutcome
from cars.garage.actions.parts import add_part
from cars.models import BallastMount, Change, Part, Reading, Sheet, SheetTargetSource
from cars.plans.actions.ballast import fit_ballast
from cars.plans.queries.ballast import ballast_seen
from cars.sheets.actions.conflicts import OVER_ANYTHING
from cars.sheets.actions.parts_fitted import fit_part
from cars.sheets.actions.readings import take_typed
from cars.sheets.actions.set_sheet import note_change
from cars.sheets.actions.sheets import close_sheet, correct_sheet
from cars.sheets.presenters.sheet_view import sheet_view
from clubsetup.access.errors import NotAllowed, WrongState
from clubsetup.access.ids import new_id
from clubsetup.access.models import TrailLine, User
from clubsetup.access.viewer import viewing_as
from tests.cars.garage import Garage
from tests.cars.plans.evening import make_evening
from tests.cars.plans.test_tools import mounts, piece
from tests.markup import one_line
from tests.people import People

__all__ = ["mounts"]  # a fixture of the tools
READ = {"ride-height.LF": "2 1/4", "weight.LF": "75", "weight.RR": "76"}
SEAT: dict[str, Any] = {
    "adjuster": "spring-seat",
    "spot": "LF",
    "amount": Decimal("0.5"),
    "unit": "turn",
}
SENT = {
    "change-adjuster": "spring-seat",
    "change-spot": "LF",
    "change-amount": "1/2",
    "change-unit": "turn",
}


@pytest.fixture
def found(garage: Garage, people: People) -> Sheet:
    with viewing_as(people.crew.pk):
        sheet = garage.sheet(people.crew)
        take_typed(by=people.crew, sheet=sheet, typed=READ)
    return sheet


def standing(sheet: Sheet) -> dict[str, str]:
    rows = Reading.objects.current().filter(sheet=sheet)
    return {f"{row.measure_id}.{row.spot}": row.typed for row in rows}


def retakes(sheet: Sheet, by: User) -> set[str]:
    view = sheet_view(sheet, by)
    return {
        f"{key.measure}.{key.spot}"
        for key, box in view.boxes.items()
        if box.judgement.outcome is FigureOutcome.RETAKE
        and key.measure in {"ride-height", "weight"}
    }


def test_the_sheet_as_set_opens_with_the_figures_and_the_change(
    people: People, found: Sheet
) -> None:
    with viewing_as(people.crew.pk):
        change = note_change(by=people.crew, sheet=found, **SEAT)
        as_set = change.sheet
        assert (as_set.role, as_set.based_on_id, as_set.state) == ("set", found.pk, "open")
        assert standing(as_set) == standing(found) == READ
        assert retakes(as_set, people.crew) == {"ride-height.LF", "weight.LF", "weight.RR"}
        assert retakes(found, people.crew) == set(), "it was found so, whatever is done now"
        assert not Change.objects.filter(sheet=found).exists()
        trail = TrailLine.objects.get(did="changed")
        assert (trail.on_id, trail.team_id) == (as_set.pk, people.team.pk)


def test_a_second_change_goes_on_the_same_sheet(people: People, found: Sheet) -> None:
    with viewing_as(people.crew.pk):
        first = note_change(by=people.crew, sheet=found, **SEAT)
        second = note_change(by=people.crew, sheet=found, **{**SEAT, "spot": "RR"})
        assert first.sheet_id == second.sheet_id
        assert Sheet.objects.filter(role="set").count() == 1


def test_the_aim_of_the_bench_goes_along(people: People, garage: Garage, found: Sheet) -> None:
    with viewing_as(people.crew.pk):
        target = garage.sheet(people.crew, role="target")
        SheetTargetSource.objects.create(sheet=found, team=people.team, target=target)
        as_set = note_change(by=people.crew, sheet=found, **SEAT).sheet
        assert as_set.target_source.target_id == target.pk


def test_a_correction_of_the_found_sheet_knows_its_sheet_as_set(
    people: People, found: Sheet
) -> None:
    with viewing_as(people.crew.pk):
        as_set = note_change(by=people.crew, sheet=found, **SEAT).sheet
        closed = close_sheet(by=people.crew, sheet=found)
        again = correct_sheet(by=people.crew, sheet=closed, reason="Misread.")
        assert note_change(by=people.crew, sheet=again, **SEAT).sheet_id == as_set.pk


def test_a_closed_sheet_takes_no_change_found_or_set(people: People, found: Sheet) -> None:
    with viewing_as(people.crew.pk):
        as_set = note_change(by=people.crew, sheet=found, **SEAT).sheet
        close_sheet(by=people.crew, sheet=as_set)
        with pytest.raises(WrongState, match="closed"):
            note_change(by=people.crew, sheet=found, **SEAT)
        close_sheet(by=people.crew, sheet=found)
        with pytest.raises(WrongState, match="closed"):
            note_change(by=people.crew, sheet=found, **SEAT)
        assert Change.objects.count() == 1


@pytest.mark.parametrize("wrong", [{"spot": "middle"}, {"amount": Decimal(0)}, {"adjuster": " "}])
def test_what_is_no_change_opens_no_sheet(
    people: People, found: Sheet, wrong: dict[str, object]
) -> None:
    with viewing_as(people.crew.pk):
        with pytest.raises(Exception, match=r"Say|change"):
            note_change(by=people.crew, sheet=found, **{**SEAT, **wrong})
        assert not Sheet.objects.filter(role="set").exists()


@pytest.mark.parametrize("who", ["guest", "coach"])
def test_who_may_not_write_opens_no_sheet(people: People, found: Sheet, who: str) -> None:
    person = getattr(people, who)
    with viewing_as(person.pk), pytest.raises(NotAllowed):
        note_change(by=person, sheet=found, **SEAT)
    with viewing_as(people.crew.pk):
        assert not Sheet.objects.filter(role="set").exists()


def test_the_bench_leads_to_the_sheet_as_set(client: Client, people: People, found: Sheet) -> None:
    client.force_login(people.crew)
    path = f"/sheets/{found.pk}/bench/ride-heights/"
    page = one_line(client.get(path).content.decode())
    assert "the change is noted on the sheet as set" in page
    answer = client.post(path + "change", SENT)
    with viewing_as(people.crew.pk):
        as_set = Sheet.objects.get(role="set")
    assert answer["Location"] == f"/sheets/{as_set.pk}/bench/ride-heights/"
    page = client.get(answer["Location"]).content.decode()
    assert "Noted on the sheet as set, which is open here now." in page
    before = client.get(path).content.decode()
    assert f'href="/sheets/{as_set.pk}/bench/ride-heights/"' in before
    assert "The car was touched since it was found." in before


def test_the_page_of_the_sheet_leads_there_too(
    client: Client, people: People, found: Sheet
) -> None:
    client.force_login(people.crew)
    path = f"/sheets/{found.pk}/changes/new"
    assert "The change is noted on the sheet as set" in client.get(path).content.decode()
    sent = {name.removeprefix("change-"): text for name, text in SENT.items()}
    answer = client.post(path, sent)
    with viewing_as(people.crew.pk):
        as_set = Sheet.objects.get(role="set")
    assert answer["Location"] == f"/sheets/{as_set.pk}/#changes"


def test_the_api_says_on_which_sheet_it_stands(
    client: Client, people: People, found: Sheet
) -> None:
    client.force_login(people.crew)
    sent = {**SEAT, "sheet": str(found.pk), "id": str(new_id())}
    said = [client.post("/api/v1/changes", sent, content_type="application/json") for _ in range(2)]
    assert [answer.status_code for answer in said] == [201, 200]
    with viewing_as(people.crew.pk):
        as_set = Sheet.objects.get(role="set")
        assert Change.objects.count() == 1
    assert {answer.json()["sheet"] for answer in said} == {str(as_set.pk)}


def test_ballast_on_a_car_as_found_goes_on_the_sheet_as_set(
    client: Client, people: People, garage: Garage, mounts: list[BallastMount]
) -> None:
    with viewing_as(people.chief.pk):
        evening = make_evening(garage, people.chief, role="found")
        one, before = piece(people, "7", "12 lb"), standing(evening.sheet)
        seen = ballast_seen(evening.sheet)
    client.force_login(people.chief)
    sent = {"move": f"{one.pk}:{mounts[0].pk}", "seen": seen}
    answer = client.post(f"/sheets/{evening.sheet.pk}/ballast/fitted", sent)
    with viewing_as(people.chief.pk):
        as_set = Sheet.objects.get(role="set")
        assert answer["Location"] == f"/sheets/{as_set.pk}/ballast"
        assert [change.sheet_id for change in Change.objects.all()] == [as_set.pk]
        assert standing(evening.sheet) == before
        assert standing(as_set) == {**before, "ballast-total.car": "12 lb"}
        fit_ballast(
            by=people.chief, sheet=evening.sheet, moves=[(one.pk, None)], seen=OVER_ANYTHING
        )
        assert {change.sheet_id for change in Change.objects.all()} == {as_set.pk}


def test_another_part_on_a_car_as_found_is_a_better_look_and_no_swap(
    people: People, found: Sheet
) -> None:
    with viewing_as(people.crew.pk):
        one, other = (
            add_part(by=people.crew, team=people.team, sort=Part.Sort.TYRE, code=mark)
            for mark in ("grey", "rust")
        )
        for part in (one, other):
            fit_part(
                by=people.crew, sheet=found, sort="tyre", spot="LF", part=part, seen=OVER_ANYTHING
            )
        assert not Change.objects.exists()
        assert retakes(found, people.crew) == set()
        as_set = note_change(by=people.crew, sheet=found, **SEAT).sheet
        fit_part(by=people.crew, sheet=as_set, sort="tyre", spot="LF", part=one, seen=OVER_ANYTHING)
        assert Change.objects.filter(sheet=as_set, adjuster="tyre").count() == 1
