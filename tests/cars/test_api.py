"""The API of cars, sheets, baselines, parts and ballast."""

from typing import Any
from uuid import uuid4

import pytest
from django.test import Client

from cars.models import Baseline, Car, Reading, Sheet
from cars.sheets.actions.readings import take_typed
from clubsetup.access.viewer import viewing_as
from tests.cars.garage import GEOMETRY, TARGETS, Garage
from tests.people import People

API = "/api/v1"
READERS = {"chief", "crew", "guest", "coach"}
MEMBERS = READERS | {"unlinked_coach", "official", "steward", "rival"}
EVERYBODY = MEMBERS | {"other_official", "other_steward", "stranger"}


class Caller:
    """Somebody calling the API."""

    def __init__(self, who: Any) -> None:
        self.client = Client()
        if who is not None:
            self.client.force_login(who)

    def __call__(self, method: str, path: str, body: Any = None) -> tuple[int, Any]:
        send = getattr(self.client, method)
        given = {} if body is None else {"data": body, "content_type": "application/json"}
        answer = send(f"{API}{path}", **given)
        return answer.status_code, answer.json() if answer.content else None


@pytest.fixture
def crew(people: People) -> Caller:
    return Caller(people.crew)


@pytest.fixture
def steward(people: People) -> Caller:
    return Caller(people.steward)


@pytest.fixture
def sheet(garage: Garage, people: People) -> Sheet:
    with viewing_as(people.crew.pk):
        return garage.sheet(people.crew)


def readings(**boxes: str) -> dict[str, Any]:
    """`ride_height__LF="2"` as the body that the API takes."""
    rows = []
    for name, typed in boxes.items():
        measure, spot = name.replace("_", "-").split("--")
        rows.append({"measure": measure, "spot": spot, "typed": typed, "seen": "anything"})
    return {"readings": rows}


LISTS = {
    "/cars": READERS,
    "/sheets": READERS,
    "/readings": READERS,
    "/chassis": MEMBERS,
    "/baselines": MEMBERS,
}


@pytest.mark.parametrize("path", LISTS)
def test_who_finds_anything_in_a_list(
    path: str, sheet: Sheet, garage: Garage, people: People
) -> None:
    with viewing_as(people.crew.pk):
        take_typed(by=people.crew, sheet=sheet, typed={"ride-height.LF": "2 1/4"})
    readers = set()
    for name in EVERYBODY:
        status, body = Caller(getattr(people, name))("get", path)
        assert status == 200
        if body["results"]:
            readers.add(name)
    assert readers == LISTS[path]
    assert Caller(None)("get", path)[0] == 401


def test_who_gets_and_writes_a_sheet(sheet: Sheet, people: People) -> None:
    body = readings(**{"ride_height__LF": "2 1/4"})
    got, wrote = {}, {}
    for name in EVERYBODY:
        call = Caller(getattr(people, name))
        got[name] = call("get", f"/sheets/{sheet.pk}")[0]
        wrote[name] = call("post", f"/sheets/{sheet.pk}/readings", body)[0]
    assert got == {name: 200 if name in READERS else 404 for name in EVERYBODY}
    writes = {"chief": 200, "crew": 200, "guest": 403, "coach": 403}
    assert wrote == {name: writes.get(name, 404) for name in EVERYBODY}
    assert Caller(None)("post", f"/sheets/{sheet.pk}/readings", body)[0] == 401


def test_the_catalogue(crew: Caller, garage: Garage) -> None:
    _, steps = crew("get", "/steps")
    _, measures = crew("get", "/measures?step=scales")
    assert [step["slug"] for step in steps][:2] == ["tyres", "springs-dampers"]
    assert [m["slug"] for m in measures][-1] == "cross"
    assert crew("get", "/measures/toe")[1]["tool_resolution"] == "0.7937500000"


def test_a_whole_evening(crew: Caller, garage: Garage, people: People) -> None:
    opened = {"car": str(garage.car.pk), "role": "found", "surface": "paved", "fuel": "1/2 gal"}
    status, sheet = crew("post", "/sheets", opened)
    assert status == 201
    assert sheet["fuel"] == {"value": "1.892705892", "unit": "L", "typed": "1/2 gal"}
    path = f"/sheets/{sheet['id']}"
    status, taken = crew(
        "post", f"{path}/readings", readings(ride_height__LF="2 1/4", nuts_bolts__car="done")
    )
    assert status == 200
    by_measure = {row["measure"]: row for row in taken}
    assert by_measure["ride-height"]["quantity"] == {
        "value": "57.15",
        "unit": "mm",
        "typed": "2 1/4",
    }
    assert by_measure["nuts-bolts"]["quantity"] is None
    crew("post", f"{path}/readings", readings(ride_height__LF="2 3/8"))
    _, boxes = crew("get", f"{path}/boxes")
    low = next(b for b in boxes if (b["measure"], b["spot"]) == ("ride-height", "LF"))
    assert (low["outcome"], low["text"]) == ("off", "off by 1/8 in, high")
    _, kept = crew("get", f"/readings?sheet={sheet['id']}&measure=ride-height")
    assert [r["typed"] for r in kept["results"]] == ["2 3/8", "2 1/4"]
    assert kept["results"][1]["replaced_by"] == str(people.crew.pk)
    assert crew("post", f"{path}/correct", {"reason": "x"})[0] == 409
    assert crew("post", f"{path}/close")[1]["state"] == "closed"
    status, problem = crew("post", f"{path}/readings", readings(ride_height__LF="3"))
    assert (status, problem["title"]) == (409, "Conflict")
    status, second = crew("post", f"{path}/correct", {"reason": "wrong rail"})
    assert (status, second["version"], second["corrects"]) == (201, 2, sheet["id"])


def test_readings_are_kept_all_or_none(crew: Caller, sheet: Sheet, people: People) -> None:
    body = readings(ride_height__LF="2 1/4", ride_height__RF="11 psi")
    status, problem = crew("post", f"/sheets/{sheet.pk}/readings", body)
    assert status == 400
    assert problem["errors"][0]["pointer"] == "#/readings/1/typed"
    assert "for a pressure" in problem["detail"]
    wrong: dict[str, Any]
    for wrong in ({"readings": []}, {}, readings(no_such__LF="1"), readings(cross__car="50")):
        assert crew("post", f"/sheets/{sheet.pk}/readings", wrong)[0] == 400
    with viewing_as(people.crew.pk):
        assert not Reading.objects.exists()


def test_a_reading_sent_twice_is_one_even_after_another_replaced_it(
    crew: Caller, sheet: Sheet, people: People
) -> None:
    path = f"/sheets/{sheet.pk}/readings"
    body = readings(ride_height__LF="2 1/4")
    body["readings"][0] |= {"id": str(uuid4()), "taken_at": "2026-03-14T18:30:00Z"}
    _, first = crew("post", path, body)
    assert first[0]["taken_at"] == "2026-03-14T18:30:00Z"
    assert crew("post", path, body) == (200, first)
    crew("post", path, readings(ride_height__LF="2 3/8"))
    _, now = crew("post", path, body)
    assert [row["typed"] for row in now] == ["2 3/8"]
    body["readings"][0]["typed"] = "2 1/2"
    assert crew("post", path, body)[0] == 409
    with viewing_as(people.crew.pk):
        assert Reading.objects.count() == 2


def test_an_id_that_is_anothers_is_taken(
    crew: Caller, sheet: Sheet, garage: Garage, people: People
) -> None:
    theirs = uuid4()
    given = {"id": str(theirs), "car": str(garage.car.pk), "role": "set", "surface": "paved"}
    assert crew("post", "/sheets", given)[0] == 201
    rival = Caller(people.rival)
    own = {"id": str(theirs), "team": str(people.rival_team.pk), "number": "3"}
    status, car = rival("post", "/cars", {**own, "chassis": str(garage.chassis.pk)})
    assert status == 409
    body = readings(ride_height__LF="2 1/4")
    body["readings"][0]["id"] = str(uuid4())
    crew("post", f"/sheets/{sheet.pk}/readings", body)
    own["id"] = str(uuid4())
    _, car = rival("post", "/cars", {**own, "chassis": str(garage.chassis.pk)})
    _, theirs_sheet = rival(
        "post", "/sheets", {"car": car["id"], "role": "found", "surface": "paved"}
    )
    # The same id on a sheet of another team, whose reading they cannot see.
    status, problem = rival("post", f"/sheets/{theirs_sheet['id']}/readings", body)
    assert (status, problem["detail"]) == (409, "This id is taken. Make a new one.")


@pytest.mark.parametrize("twice", ["same", "other"])
def test_sending_a_car_twice_makes_one(
    crew: Caller, garage: Garage, people: People, twice: str
) -> None:
    body = {
        "id": str(uuid4()),
        "team": str(people.team.pk),
        "number": "12",
        "chassis": str(garage.chassis.pk),
    }
    status, made = crew("post", "/cars", body)
    assert (status, made["id"]) == (201, body["id"])
    if twice == "same":
        assert crew("post", "/cars", body) == (200, made)
    else:
        assert crew("post", "/cars", {**body, "number": "13"})[0] == 409
    with viewing_as(people.crew.pk):
        assert Car.objects.count() == 2


def test_a_car_is_written_anew(crew: Caller, garage: Garage) -> None:
    body = {"number": "77", "name": "Blue", "chassis": str(garage.chassis.pk)}
    _, car = crew("put", f"/cars/{garage.car.pk}", body)
    assert (car["number"], car["baseline"]) == ("77", None)
    status, problem = crew("put", f"/cars/{garage.car.pk}", {**body, "number": " "})
    assert (status, problem["errors"][0]["pointer"]) == (400, "#/number")


def test_chassis_and_mounts(steward: Caller, people: People) -> None:
    body = {"club": str(people.club.pk), "name": "Kite 2", "geometry": GEOMETRY}
    status, chassis = steward("post", "/chassis", body)
    assert (status, chassis["geometry"]["rear_axle"]) == (201, "solid")
    path = f"/chassis/{chassis['id']}"
    wrong = {**GEOMETRY, "thread": [2, 2, 2, -2]}
    status, problem = steward("patch", path, {"geometry": wrong})
    assert (status, problem["errors"][0]["pointer"]) == (400, "#/geometry.thread RR")
    assert steward("patch", path, {"note": "Newer clips."})[1]["note"] == "Newer clips."
    mount = {"chassis": chassis["id"], "name": "Nose", "x": "40", "y": "-2 in", "capacity": "10"}
    _, made = steward("post", "/ballast-mounts", mount)
    assert (made["x"]["value"], made["capacity"]["value"]) == ("1016", "4.5359237")
    for name in ("chief", "official", "other_steward"):
        call = Caller(getattr(people, name))
        assert call("patch", path, {"note": "mine"})[0] in (403, 404)
        assert call("post", "/chassis", {**body, "name": "Mine"})[0] in (400, 403)


def test_baselines(steward: Caller, garage: Garage, people: People) -> None:
    path = f"/baselines/{garage.baseline.pk}"
    assert len(steward("get", f"{path}/values")[1]) == len(TARGETS)
    value = {
        "measure": "toe",
        "spot": "front",
        "target": "1/16",
        "tolerance": "1/32 in",
        "source": "maker",
    }
    assert steward("put", f"{path}/values", [value])[0] == 409
    copied = {"id": str(uuid4()), "note": "Softer."}
    status, draft = steward("post", f"{path}/copy", copied)
    assert (status, draft["version"], draft["state"]) == (201, 2, "draft")
    assert steward("post", f"{path}/copy", copied) == (200, draft)
    new = f"/baselines/{draft['id']}"
    _, rows = steward("put", f"{new}/values", [value])
    assert rows[0]["tolerance"] == {"value": "0.79375", "unit": "mm", "typed": "1/32 in"}
    status, problem = steward("put", f"{new}/values", [value, {**value, "target": "9 psi"}])
    assert (status, problem["errors"][0]["pointer"]) == (400, "#/1/target")
    assert steward("delete", f"{new}/values?measure=toe&spot=front")[0] == 204
    assert steward("delete", f"{new}/values?measure=toe&spot=front")[0] == 409
    assert Caller(people.chief)("get", new)[0] == 404
    assert steward("post", f"{new}/publish")[1]["state"] == "published"
    assert Caller(people.chief)("post", f"{new}/publish")[0] == 403
    with viewing_as(people.steward.pk):
        assert Baseline.objects.get(pk=garage.baseline.pk).state == "retired"


def test_parts_and_ballast(crew: Caller, garage: Garage, people: People) -> None:
    team = str(people.team.pk)
    given = {"team": team, "sort": "spring", "rate": "110", "code": "two blue"}
    _, part = crew("post", "/parts", given)
    assert part["rate"]["unit"] == "N/mm"
    _, part = crew("put", f"/parts/{part['id']}/code", {"code": "red", "note": "cut"})
    assert part["code"] == {"code": "red", "note": "cut"}
    piece_given = {"team": team, "label": "7", "marked_mass": "4.5 lb", "car": str(garage.car.pk)}
    _, piece = crew("post", "/ballast-pieces", piece_given)
    assert piece["marked_mass"]["typed"] == "4.5 lb"
    path = f"/ballast-pieces/{piece['id']}"
    assert crew("post", f"{path}/move", {})[1]["car"] is None
    assert crew("post", f"{path}/retire")[1]["retired_at"]
    assert crew("post", f"{path}/retire")[0] == 409
    for name in ("coach", "official", "steward", "rival"):
        call = Caller(getattr(people, name))
        assert call("get", f"/parts/{part['id']}")[0] == 404
        assert call("post", f"{path}/retire")[0] == (403 if name == "coach" else 404)


def test_changes_and_comments(crew: Caller, sheet: Sheet, people: People) -> None:
    change = {"sheet": str(sheet.pk), "adjuster": "spring-seat", "spot": "LF", "amount": "0.5"}
    status, made = crew("post", "/changes", {**change, "unit": "turn"})
    assert (status, made["amount"]) == (201, "0.5000")
    remark = {"sheet": str(sheet.pk), "text": "Look at the RF."}
    coach = Caller(people.coach)
    assert coach("post", "/changes", {**change, "unit": "turn"})[0] == 403
    assert coach("post", "/comments", remark)[0] == 201
    assert Caller(people.guest)("post", "/comments", remark)[0] == 403
    # What one cannot see cannot be named either.
    assert Caller(people.rival)("post", "/comments", remark)[0] == 400
    _, listed = crew("get", f"/comments?sheet={sheet.pk}")
    assert [row["by"] for row in listed["results"]] == [str(people.coach.pk)]
