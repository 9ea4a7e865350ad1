"""What is turned on a car as found goes on the sheet as set; the found figures stay."""

import pytest
from django.test import Client

from cars.models import Change, Plan, Sheet
from cars.plans.actions.turns import accept_plan
from cars.plans.queries.turns import turn_table
from cars.sheets.actions.conflicts import OVER_ANYTHING
from cars.sheets.actions.sheets import close_sheet
from clubsetup.access.errors import WrongState
from clubsetup.access.viewer import viewing_as
from tests.cars.garage import Garage
from tests.cars.plans.evening import Evening, make_evening, quarter
from tests.cars.plans.test_pages import TURNS, page, seen_of
from tests.cars.seen import seen_by
from tests.people import People

HALF = quarter("0.5", "-0.5", "-0.5", "0.5")


@pytest.fixture
def found(garage: Garage, people: People) -> Evening:
    with viewing_as(people.chief.pk):
        return make_evening(garage, people.chief, role="found")


def figures(sheet: Sheet) -> dict[tuple[str, str], str]:
    standing = sheet.readings.current()
    return {(row.measure_id, row.spot): row.typed for row in standing}


def test_turning_a_car_as_found_leads_to_the_sheet_as_set(
    client: Client, people: People, found: Evening
) -> None:
    client.force_login(people.chief)
    with viewing_as(people.chief.pk):
        before = figures(found.sheet)
    text = page(client, found, "turn")
    assert "it keeps its figures: what you turn opens the sheet as set" in text
    sent = {"turns": TURNS, "seen": seen_of(text)}
    answer = client.post(f"/sheets/{found.sheet.pk}/turn/accept", sent)
    with viewing_as(people.chief.pk):
        as_set = Sheet.objects.get(based_on=found.sheet, role="set")
        assert answer["Location"] == f"/sheets/{as_set.pk}/turn#weigh"
        assert Plan.objects.get().sheet_id == as_set.pk
        assert {change.sheet_id for change in Change.objects.all()} == {as_set.pk}
        assert figures(as_set) == before
    typed = {"weight.LF": "77", "weight.RF": "66.5", "weight.LR": "90", "weight.RR": "75.5"}
    typed["seen"] = seen_by(people.chief, as_set)
    weighed = client.post(f"/sheets/{as_set.pk}/weigh", typed, follow=True)
    assert "1 change learned" in weighed.content.decode()
    with viewing_as(people.chief.pk):
        assert figures(found.sheet) == before
        assert figures(as_set)["weight", "LF"] == "77"
    text = page(client, found, "turn")
    assert f'href="/sheets/{as_set.pk}/turn">Plan on the sheet as set' in text
    assert "I turned these" not in text


def test_a_second_plan_from_the_found_figures_is_refused(people: People, found: Evening) -> None:
    with viewing_as(people.chief.pk):
        accept_plan(by=people.chief, sheet=found.sheet, turns=HALF, seen=OVER_ANYTHING)
        with pytest.raises(WrongState, match="Plan on the sheet as set"):
            accept_plan(by=people.chief, sheet=found.sheet, turns=HALF, seen=OVER_ANYTHING)
        assert Sheet.objects.filter(based_on=found.sheet).count() == 1
        assert Plan.objects.count() == 1


def test_a_sheet_as_set_that_says_the_same_is_gone_on_with(
    people: People, garage: Garage, found: Evening
) -> None:
    with viewing_as(people.chief.pk):
        as_set = garage.sheet(people.chief, role="set", based_on=found.sheet, with_readings=True)
        plan = accept_plan(by=people.chief, sheet=found.sheet, turns=HALF, seen=OVER_ANYTHING)
        assert plan.sheet_id == as_set.pk
        assert not turn_table(as_set, people.chief).ready, "the weights are to be read again"


def test_a_closed_sheet_as_set_takes_no_plan(
    people: People, garage: Garage, found: Evening
) -> None:
    with viewing_as(people.chief.pk):
        as_set = garage.sheet(people.chief, role="set", based_on=found.sheet, with_readings=True)
        close_sheet(by=people.chief, sheet=as_set)
        with pytest.raises(WrongState, match="closed"):
            accept_plan(by=people.chief, sheet=found.sheet, turns=HALF, seen=OVER_ANYTHING)
        assert not Plan.objects.exists()
