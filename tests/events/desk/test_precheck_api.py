"""The pre-check over the API says what the page says, and to the same people."""

from typing import Any
from uuid import UUID

import pytest
from rest_framework.test import APIClient
from scipy.stats import norm

from cars.models import BallastMount
from cars.plans.actions.ballast import fit_ballast
from cars.sheets.actions.conflicts import OVER_ANYTHING
from clubsetup.access.viewer import viewing_as
from teams.actions.clubs import set_club_units
from tests.events.desk.conftest import EVERYBODY
from tests.events.desk.own_weights import POUND, on_pads, piece, ready_for_ballast, weights
from tests.events.meeting import Meeting

LIGHT = ("80.0", "72.0", "96.0", "71.8")
SEE = ("chief", "crew", "guest", "coach")


@pytest.fixture
def api(meeting: Meeting) -> APIClient:
    """The chief's."""
    client = APIClient()
    client.force_login(meeting.people.chief)
    return client


@pytest.fixture
def mounts(meeting: Meeting) -> list[BallastMount]:
    return ready_for_ballast(meeting)


def ask(api: APIClient, meeting: Meeting, **given: Any) -> Any:
    answer = api.get(f"/api/v1/cars/{meeting.car.pk}/pre-check", given)
    assert answer.status_code == 200, answer.content
    return answer.json()


def test_from_the_newest_sheet(api: APIClient, meeting: Meeting) -> None:
    sheet = weights(meeting, *LIGHT)
    body = ask(api, meeting)
    assert body["missing"] == []
    assert body["sheet"] == str(sheet.pk)
    assert body["entry"] == str(meeting.entry.pk)
    assert body["rule_set"] == str(meeting.rule_set.pk)
    assert body["weight"]["value"] == pytest.approx(319.8 * POUND)
    (light,) = body["lights"]
    assert light["text"] == "Add 1.5 lb before the race: 2.1 % risk of light after 20 laps."
    assert light["add"] == pytest.approx(1.5 * POUND)
    official = light["weight"]
    assert light["risk"] == pytest.approx(norm.cdf(320 * POUND, official["value"], official["u"]))
    assert {one["outcome"] for one in body["others"]} == {"meets"}


def test_a_car_weighed_after_the_race_is_told_that_adding_mends_nothing(
    api: APIClient, meeting: Meeting
) -> None:
    weights(meeting, *LIGHT)
    assert ask(api, meeting)["cautions"] == []
    meeting.weigh("318.6", stage="after")
    (caution,) = ask(api, meeting)["cautions"]
    assert "nothing done to it now mends what was found" in caution
    assert "appointed officials decide" in caution
    meeting.weigh("318.6")
    assert ask(api, meeting)["cautions"] == []


def test_readings_of_ones_own(api: APIClient, meeting: Meeting) -> None:
    weights(meeting, "85.0", "75.0", "96.0", "75.0")
    sent = ask(api, meeting, **on_pads(*LIGHT), fuel="0.3 gal", laps="40", risk="1")
    assert sent["sheet"] is None
    assert sent["lights"][0]["laps"] == 40
    assert sent["lights"][0]["risk_then"] <= 0.01
    alone = ask(api, meeting, total="251", driver_in="false")
    assert (alone["driver_in"], alone["lights"], alone["ballast"]) == (False, [], None)


def test_a_bare_number_is_in_the_clubs_units(api: APIClient, meeting: Meeting) -> None:
    people = meeting.people
    with viewing_as(people.steward.pk):
        set_club_units(by=people.steward, club=people.club, units={"mass": "kg"})
    assert ask(api, meeting, total="146")["weight"]["value"] == pytest.approx(146)


def test_what_has_to_be_there_first(api: APIClient, meeting: Meeting) -> None:
    body = ask(api, meeting)
    assert ["No sheet of this car has four weights" in line for line in body["missing"]] == [True]
    assert (body["weight"], body["lights"], body["ballast"]) == (None, [], None)


def test_its_plan_can_be_noted_as_it_is_told(
    api: APIClient, meeting: Meeting, mounts: list[BallastMount]
) -> None:
    sheet, by = weights(meeting, "79.0", "71.0", "95.0", "71.0"), meeting.people.chief
    own = [piece(meeting, marked) for marked in ("3.0 lb", "2.5 lb", "8.0 lb")]
    ballast = ask(api, meeting)["ballast"]
    assert (ballast["words"], ballast["missing"], ballast["short"]) == ([], [], 0)
    best = ballast["plans"][0]
    assert best["reaches"]
    assert {one["piece"] for one in best["handled"]} == {str(own[0].pk), str(own[1].pk)}
    assert best["weight"]["value"] == pytest.approx((316 + 5.5 - 0.6) * POUND)
    assert best["risk"] <= 0.03
    assert 40 < best["shares"]["left"]["value"] < 70
    with viewing_as(by.pk):
        moves = [(UUID(one["piece"]), UUID(one["mount"])) for one in best["handled"]]
        fit_ballast(by=by, sheet=sheet, moves=moves, seen=OVER_ANYTHING)
        own[0].refresh_from_db()
        assert own[0].car_id == meeting.car.pk


def test_of_a_total_it_tells_no_shares(
    api: APIClient, meeting: Meeting, mounts: list[BallastMount]
) -> None:
    weights(meeting, *LIGHT)
    piece(meeting, "3.0 lb")
    assert ask(api, meeting, total="318.0")["ballast"]["plans"][0]["shares"] is None


@pytest.mark.parametrize(
    ("given", "field"),
    [
        ({"LF": "80"}, "RF"),
        ({"LF": "heavy"}, "LF"),
        ({**on_pads(*LIGHT), "total": "320"}, "total"),
        ({"total": "5 lb"}, "total"),
        ({"total": ""}, "total"),
        ({"driver_in": "no"}, "driver_in"),
        ({"driver_in": "perhaps"}, "driver_in"),
        ({"burn": "-1 lb"}, "burn"),
        ({"laps": "501"}, "laps"),
        ({"laps": "x"}, "laps"),
        ({"risk": "0"}, "risk"),
        ({"fuel": "99 gal"}, "fuel"),
    ],
)
def test_what_does_not_go_names_the_field(
    api: APIClient, meeting: Meeting, given: dict[str, str], field: str
) -> None:
    answer = api.get(f"/api/v1/cars/{meeting.car.pk}/pre-check", given)
    assert answer.status_code == 400
    assert [one["pointer"] for one in answer.json()["errors"]] == [f"#/{field}"]


@pytest.mark.parametrize("given", [{}, {"total": "320"}, {"laps": "x"}])
def test_who_is_answered(meeting: Meeting, given: dict[str, str]) -> None:
    weights(meeting, *LIGHT)
    where, ok = f"/api/v1/cars/{meeting.car.pk}/pre-check", 400 if "laps" in given else 200
    client = APIClient()
    assert client.get(where, given).status_code == 401
    for name in EVERYBODY:
        client.force_login(getattr(meeting.people, name))
        assert client.get(where, given).status_code == (ok if name in SEE else 404), name
