"""The plans that a car was learned from, some at a time, on the page and over the API."""

import re
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from cars.catalogue.queries import catalogue
from cars.models import Plan
from cars.plans.actions.turns import accept_plan
from cars.plans.queries import calibration
from cars.plans.queries.calibration import NOBODY_WEIGHED, calibration_of
from cars.sheets.actions.conflicts import OVER_ANYTHING
from clubsetup.access.ids import new_id
from clubsetup.access.viewer import viewing_as
from tests.cars.plans.evening import Evening, quarter
from tests.people import People

TURNS = (("1", "0", "0", "0"), ("0", "-1", "0", "0"), ("0", "0", "1", "0"), ("0", "0", "0", "1"))
TWO = 2


@pytest.fixture
def plans(evening: Evening, people: People, monkeypatch: pytest.MonkeyPatch) -> list[Plan]:
    """Four, each weighed after it, the newest first; two are a page."""
    monkeypatch.setattr(calibration, "A_PAGE", TWO)
    made = []
    with viewing_as(people.chief.pk):
        for turns in TURNS:
            wanted = quarter(*turns)
            plan = accept_plan(
                by=people.chief, sheet=evening.sheet, turns=wanted, seen=OVER_ANYTHING
            )
            evening.turn(type(evening.loads).of(float(turn) for turn in wanted))
            evening.weigh()
            made.append(plan)
    return made[::-1]


@pytest.fixture
def chief(client: Client, people: People) -> Client:
    client.force_login(people.chief)
    return client


def turned(page: str) -> list[str]:
    """What each plan on the page turned."""
    return re.findall(r"<h3>[^<]*: ([^<]*)</h3>", page)


def test_the_page_tells_the_newest_and_leads_to_those_before(
    chief: Client, evening: Evening, plans: list[Plan]
) -> None:
    address = f"/cars/{evening.garage.car.pk}/calibration"
    first = chief.get(address).content.decode()
    assert turned(first) == ["RR +1 turn", "LR +1 turn"]
    assert "4 changes learned" in first, "of all of them"
    assert '<span class="muted small">± ' in first, "a prediction with its uncertainty"
    assert f'href="?before={plans[1].pk}"' in first
    second = chief.get(address, {"before": str(plans[1].pk)}).content.decode()
    assert turned(second) == ["RF −1 turn", "LF +1 turn"]
    assert "before=" not in second
    last = chief.get(address, {"before": str(plans[3].pk)}).content.decode()
    assert turned(last) == []
    assert chief.get(address, {"before": str(new_id())}).status_code == 400


def test_the_api_tells_the_same(chief: Client, evening: Evening, plans: list[Plan]) -> None:
    address = f"/api/v1/cars/{evening.garage.car.pk}/calibration"
    told: list[dict[str, Any]] = []
    before: dict[str, str] = {}
    for _ in range(TWO):
        page = chief.get(address, before).json()
        assert page["learned"] == len(TURNS)
        told += page["outcomes"]
        before = {"before": page["earlier"]}
    assert page["earlier"] is None
    assert [each["plan"] for each in told] == [str(plan.pk) for plan in plans]
    assert all(each["learned"] for each in told)


def test_a_sheets_own_plans_are_all_told_on_it(
    chief: Client, evening: Evening, plans: list[Plan]
) -> None:
    page = chief.get(f"/sheets/{evening.sheet.pk}/turn").content.decode()
    assert turned(page) == ["RR +1 turn", "LR +1 turn", "RF −1 turn", "LF +1 turn"]


def test_only_so_many_are_learned_from(
    evening: Evening, plans: list[Plan], people: People, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(calibration, "MOST_PLANS", 3)
    with viewing_as(people.chief.pk):
        found = calibration_of(evening.garage.car, catalogue())
    assert [each.plan.pk for each in found.outcomes] == [plan.pk for plan in plans[2::-1]]
    assert found.learned == 3


def test_as_many_queries_for_one_plan_as_for_four(
    chief: Client, evening: Evening, plans: list[Plan], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(calibration, "A_PAGE", len(plans))
    address, asked = f"/cars/{evening.garage.car.pk}/calibration", []
    chief.get(address)  # the first visit reads what is kept for a while
    for most in (1, len(plans)):
        monkeypatch.setattr(calibration, "MOST_PLANS", most)
        with CaptureQueriesContext(connection) as queries:
            chief.get(address)
        asked.append(len(queries))
    assert asked[0] == asked[1]


def test_a_cars_last_weights_are_looked_for_on_its_newest_sheets(
    evening: Evening, people: People, monkeypatch: pytest.MonkeyPatch
) -> None:
    car, by = evening.garage.car, people.chief
    with viewing_as(by.pk):
        evening.weigh()
        weighed = calibration_of(car, catalogue()).loads
        evening.garage.sheet(by)
        assert calibration_of(car, catalogue()).loads == weighed != NOBODY_WEIGHED
        monkeypatch.setattr(calibration, "LAST_SHEETS", 1)
        assert calibration_of(car, catalogue()).loads == NOBODY_WEIGHED
