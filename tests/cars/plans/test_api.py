"""The API of plans: the same figures and refusals as the pages."""

from typing import Any
from uuid import uuid4

import pytest
from django.test import Client

from cars.mechanics import CORNER_NAMES, Corners
from cars.models import Plan
from cars.plans.queries.turns import predict_turns, turn_plans, turn_table
from clubsetup.access.viewer import viewing_as
from tests.cars.garage import Garage
from tests.cars.plans.evening import Evening, make_evening
from tests.people import People


@pytest.fixture
def chief(client: Client, people: People) -> Client:
    client.force_login(people.chief)
    return client


def post(client: Client, address: str, **sent: Any) -> Any:
    return client.post(f"/api/v1/{address}", sent, "application/json")


def test_plans_say_what_the_query_says(chief: Client, people: People, evening: Evening) -> None:
    answer = chief.get(f"/api/v1/sheets/{evening.sheet.pk}/turn-plans").json()
    with viewing_as(people.chief.pk):
        table = turn_table(evening.sheet, people.chief)
        plans = turn_plans(table)
    assert answer["missing"] == []
    assert answer["seen"] == table.seen
    assert [plan["most_corners"] for plan in answer["plans"]] == [1, 2, 3, 4]
    for said, plan in zip(answer["plans"], plans, strict=True):
        assert said["prediction"]["turns"] == dict(zip(CORNER_NAMES, plan.turns, strict=True))
        assert said["miss"] == pytest.approx(plan.miss)
        assert said["prediction"]["cross"] == pytest.approx(plan.cross)
        order = dict.fromkeys(CORNER_NAMES, 0.0)
        for move in said["order"]:
            order[move["corner"]] += move["turns"]
        assert order == said["prediction"]["turns"]


def test_a_bare_sheet_says_what_is_missing(chief: Client, people: People, garage: Garage) -> None:
    with viewing_as(people.chief.pk):
        bare = make_evening(garage, people.chief, read=False)
    plans = chief.get(f"/api/v1/sheets/{bare.sheet.pk}/turn-plans").json()
    assert plans["missing"] == ["Take the four ride heights and the four weights first."]
    assert plans["plans"] == []
    answer = chief.get(f"/api/v1/sheets/{bare.sheet.pk}/what-if?turns=1,0,0,0")
    assert answer.status_code == 409
    assert answer["Content-Type"] == "application/problem+json"


def test_what_if_predicts(chief: Client, people: People, evening: Evening) -> None:
    answer = chief.get(f"/api/v1/sheets/{evening.sheet.pk}/what-if?turns=1,0,0,-0.25").json()
    with viewing_as(people.chief.pk):
        what = predict_turns(turn_table(evening.sheet, people.chief), Corners(1, 0, 0, -0.25))
    assert answer["cross"] == pytest.approx(what.cross)
    assert answer["weights"]["LF"] == pytest.approx(what.loads.lf)
    assert answer["u_heights"]["RR"] == pytest.approx(what.u_heights.rr)


@pytest.mark.parametrize("turns", ["1", "a,b,c,d", "nan,0,0,0", "9999,0,0,0", "1,0,0,0,0"])
def test_what_if_refuses_nonsense_as_a_problem(chief: Client, evening: Evening, turns: str) -> None:
    answer = chief.get(f"/api/v1/sheets/{evening.sheet.pk}/what-if?turns={turns}")
    assert answer.status_code == 400
    assert answer["Content-Type"] == "application/problem+json"


def test_accepted_twice_under_one_id_it_is_one_plan(
    chief: Client, people: People, evening: Evening
) -> None:
    sent = {
        "id": str(uuid4()),
        "sheet": str(evening.sheet.pk),
        "turns": {"LF": "0.5"},
        "seen": "anything",
    }
    first, second = post(chief, "plans", **sent), post(chief, "plans", **sent)
    assert (first.status_code, second.status_code) == (201, 200)
    assert first.json() == second.json()
    assert first.json()["turns"] == [0.5, 0.0, 0.0, 0.0]
    other = post(chief, "plans", **{**sent, "turns": {"LF": "1"}})
    assert other.status_code == 409
    with viewing_as(people.chief.pk):
        assert Plan.objects.count() == 1


def test_a_plan_of_nothing_or_of_other_readings_is_refused(chief: Client, evening: Evening) -> None:
    sheet = str(evening.sheet.pk)
    assert post(chief, "plans", sheet=sheet, turns={}, seen="anything").status_code == 400
    assert (
        post(chief, "plans", sheet=sheet, turns={"LF": "many"}, seen="anything").status_code == 400
    )
    stale = post(chief, "plans", sheet=sheet, turns={"LF": "1"}, seen="0123456789abcdef")
    assert stale.status_code == 409


def test_an_evening_over_the_api(chief: Client, people: People, evening: Evening) -> None:
    car = evening.garage.car.pk
    before = chief.get(f"/api/v1/cars/{car}/calibration").json()
    assert before["learned"] == 0
    made = post(
        chief, "plans", sheet=str(evening.sheet.pk), turns={"LF": "1", "RF": "-1"}, seen="anything"
    ).json()
    with viewing_as(people.chief.pk):
        evening.turn(Corners(1, -1, 0, 0))
        evening.weigh()
    answer = chief.get(f"/api/v1/cars/{car}/calibration").json()
    assert answer["learned"] == 1
    assert answer["words"].startswith(
        "1 change learned: what one turn does to cross is known within ±"
    )
    assert set(answer["multipliers"]) == {"front", "rear", "tyre", "thread"}
    (outcome,) = answer["outcomes"]
    assert outcome["plan"] == made["id"]
    assert outcome["learned"] is True
    assert outcome["weighed_cross"] == pytest.approx(made["cross"], abs=3 * made["u_cross"])
    for was, now in zip(before["one_turn"], answer["one_turn"], strict=True):
        assert was["cross"] == was["worked_out"]
        assert now["worked_out"] == pytest.approx(was["worked_out"], rel=0.02)
        assert now["u_cross"] < now["u_worked_out"]
        assert now["text"].startswith(f"One turn of {now['corner']} moves cross by ")
        assert f"{abs(now['cross']):.2f}%" in now["text"]
    lf, rf, lr, rr = (each["cross"] for each in answer["one_turn"])
    assert rf > 0 > lf
    assert lr > 0 > rr
    widest = max(each["u_cross"] for each in answer["one_turn"])
    assert answer["cross_within"] == pytest.approx(1.96 * widest, rel=1e-4)
    reset = post(chief, "calibration-resets", car=str(car), reason="Another frame.")
    assert reset.status_code == 201
    after = chief.get(f"/api/v1/cars/{car}/calibration").json()
    assert (after["learned"], after["reset_reason"]) == (0, "Another frame.")
    assert len(chief.get("/api/v1/plans").json()["results"]) == 1


def test_plans_are_filtered_by_sheet(
    chief: Client, people: People, garage: Garage, evening: Evening
) -> None:
    post(chief, "plans", sheet=str(evening.sheet.pk), turns={"LF": "1"}, seen="anything")
    with viewing_as(people.chief.pk):
        other = make_evening(garage, people.chief)
    of = "/api/v1/plans?sheet="
    assert len(chief.get(of + str(evening.sheet.pk)).json()["results"]) == 1
    assert chief.get(of + str(other.sheet.pk)).json()["results"] == []
