"""The bench over the API: a whole evening, two at one box, sending twice, and what is refused."""

from typing import Any
from uuid import uuid4

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from cars.mechanics import Corners
from cars.models import Reading, Sheet
from clubsetup.access.viewer import viewing_as
from tests.cars.garage import Garage
from tests.cars.plans.evening import Evening
from tests.cars.test_api import Caller
from tests.people import People

BOX = "ride-height.LF"


@pytest.fixture
def chief(people: People) -> Caller:
    return Caller(people.chief)


@pytest.fixture
def sheet(garage: Garage, people: People) -> Sheet:
    with viewing_as(people.crew.pk):
        return garage.sheet(people.crew)


def done(answer: tuple[int, Any], status: int = 200) -> Any:
    """What came of a request that should end so."""
    assert answer[0] == status, answer
    return answer[1]


def put(who: Caller, sheet: Any, typed: str, seen: str | None = None, **more: Any) -> Any:
    box = more.pop("box", BOX)
    return who("put", f"/sheets/{sheet}/boxes/{box}", {"typed": typed, "seen": seen, **more})


def at(step: Any, name: str) -> Any:
    """One box of a step."""
    return next(b for m in step["measures"] for b in m["boxes"] if b["box"] == name)


def start(who: Caller, garage: Garage, role: str) -> Any:
    choice = done(who("get", f"/cars/{garage.car.pk}/bench-choices"))[0]
    sent = {"id": str(uuid4()), "role": role, "baseline": choice["baseline"]}
    made = done(who("post", f"/cars/{garage.car.pk}/benches", sent), 201)
    assert done(who("post", f"/cars/{garage.car.pk}/benches", sent)) == made
    return made


def fill(who: Caller, sheet: str, typed: dict[str, str], seen: dict[str, str]) -> dict[str, str]:
    """Sends boxes together, as a device does when its line is back; returns what stands."""
    sent = [
        {"box": box, "typed": text, "seen": seen.get(box), "id": str(uuid4()), "again": True}
        for box, text in typed.items()
    ]
    answer = done(who("post", f"/sheets/{sheet}/boxes", {"boxes": sent}))
    assert {one["status"] for one in answer["results"]} == {"saved"}
    assert answer["version"] != answer["before"]
    return {one["box"]: one["seen"] for one in answer["results"]}


def test_an_evening_from_found_to_set(chief: Caller, people: People, garage: Garage) -> None:
    found = start(chief, garage, "found")["id"]
    with viewing_as(people.chief.pk):
        car = Evening(garage, people.chief, Sheet.objects.get(pk=found))
    fill(chief, found, car.typed(), {})
    step = done(chief("get", f"/sheets/{found}/bench/ride-heights"))
    assert step["step"]["why_here"]
    assert step["state"] == "open"
    assert step["target_source"]["kind"] == "baseline"
    box = at(step, BOX)
    assert (box["target"]["typed"], box["tolerance"]["typed"]) == ("2 1/4", "1/16")
    assert box["outcome"] in {"on target", "off", "too close to tell"}
    tally = done(chief("get", f"/sheets/{found}/bench"))
    assert tally["taken"] == 8
    assert tally["go_on"] == "tyres"
    done(chief("post", f"/sheets/{found}/close"))

    as_set = done(chief("post", f"/sheets/{found}/follow", {"id": str(uuid4())}), 201)["id"]
    plans = done(chief("get", f"/sheets/{as_set}/turn-plans"))
    best = plans["plans"][-1]["prediction"]
    turns = {corner: str(turn) for corner, turn in best["turns"].items()}
    sent = {"id": str(uuid4()), "sheet": as_set, "turns": turns, "seen": plans["seen"]}
    done(chief("post", "/plans", sent), 201)
    car.turn(Corners.of(best["turns"][c] for c in ("LF", "RF", "LR", "RR")))
    box = at(done(chief("get", f"/sheets/{as_set}/bench/scales")), "weight.LF")
    assert box["outcome"] == "retake"
    assert box["retake"]["text"].startswith("spring seat")

    stands: dict[str, Any] = {}
    for step_name in ("scales", "ride-heights"):
        step = done(chief("get", f"/sheets/{as_set}/bench/{step_name}"))
        stands |= {b["box"]: b["takes"][0]["seen"] for m in step["measures"] for b in m["boxes"]}
    fill(chief, as_set, car.typed(), stands)
    taught = done(chief("get", f"/cars/{garage.car.pk}/calibration"))
    assert taught["learned"] == 1
    assert taught["outcomes"][0]["weighed_cross"] == pytest.approx(best["cross"], abs=0.01)
    done(chief("post", f"/sheets/{as_set}/close"))
    again = done(chief("get", f"/sheets/{found}/bench"))
    assert (again["state"], again["set_sheet"]) == ("closed", as_set)
    trail = done(chief("get", f"/sheets/{as_set}/trail"))
    assert sum(line["old"] for line in trail) == 8


def test_a_box_judged_at_once_read_twice_and_put_back(chief: Caller, sheet: Sheet) -> None:
    first = done(put(chief, sheet.pk, "2 1/4"))
    box = next(b for b in first["boxes"] if b["box"] == BOX)
    assert (box["outcome"], box["off_by"]) == ("on target", "0")
    seen = first["reading"]["id"]
    second = done(put(chief, sheet.pk, "2 1/2", seen))
    box = next(b for b in second["boxes"] if b["box"] == BOX)
    assert (box["outcome"], box["off_by"]) == ("off", "6.35")
    assert "high" in box["text"]
    assert (first["version"], box["back"]) == (second["before"], "2 1/4")
    twice = done(put(chief, sheet.pk, "2 3/8", box=f"{BOX}.2"))
    box = next(b for b in twice["boxes"] if b["box"] == BOX)
    assert box["repeats"] == "mean 2 7/16 in of 2, spread 1/8 in"
    seen = second["reading"]["id"]
    same = done(chief("post", f"/sheets/{sheet.pk}/boxes/{BOX}/same-again", {"seen": seen}), 201)
    assert same["typed"] == "2 1/2"
    undone = chief("post", f"/sheets/{sheet.pk}/boxes/{BOX}/undo", {"seen": same["id"]})
    assert done(undone, 201)["typed"] in {"2 1/2", "2 1/4"}


def test_nothing_newer_is_an_empty_answer(chief: Caller, sheet: Sheet) -> None:
    path = f"/sheets/{sheet.pk}/bench/ride-heights"
    version = done(chief("get", path))["version"]
    assert chief("get", f"{path}?version={version}") == (204, None)
    put(chief, sheet.pk, "2 1/4")
    assert done(chief("get", f"{path}?version={version}"))["version"] != version


def test_sent_twice_it_is_one_reading(chief: Caller, people: People, sheet: Sheet) -> None:
    own = str(uuid4())
    first, second = (put(chief, sheet.pk, "2 1/4", id=own) for _ in range(2))
    assert done(first)["reading"]["id"] == done(second)["reading"]["id"] == own
    with viewing_as(people.chief.pk):
        assert Reading.objects.filter(sheet=sheet).count() == 1


def test_two_at_one_box(chief: Caller, people: People, sheet: Sheet) -> None:
    crew = Caller(people.crew)
    theirs = done(put(crew, sheet.pk, "2 1/4"))["reading"]["id"]
    refused = done(put(chief, sheet.pk, "2 3/8"), 409)
    assert (refused["seen"], refused["theirs"], refused["box"]) == (theirs, "2 1/4", BOX)
    assert refused["by"]
    body = {"boxes": [{"box": BOX, "typed": "2 3/8", "seen": None}]}
    together = done(chief("post", f"/sheets/{sheet.pk}/boxes", body))["results"][0]
    assert (together["status"], together["problem"]["theirs"]) == ("conflict", "2 1/4")
    assert done(put(chief, sheet.pk, "2 3/8", theirs))["reading"]["typed"] == "2 3/8"


def test_one_wrong_box_does_not_hold_up_the_others(chief: Caller, sheet: Sheet) -> None:
    boxes = [
        {"box": BOX, "typed": "two and a bit", "seen": None},
        {"box": "ride-height.RF", "typed": "2 3/8", "seen": None},
    ]
    results = done(chief("post", f"/sheets/{sheet.pk}/boxes", {"boxes": boxes}))["results"]
    assert [one["status"] for one in results] == ["wrong", "saved"]
    assert results[0]["problem"]["status"] == 400


WRONG: list[tuple[dict[str, Any], str]] = [
    ({"typed": "two and a bit", "seen": None}, "typed"),
    ({"typed": "2 1/4"}, "seen"),
    ({"typed": "2 1/4", "seen": "that one"}, "seen"),
    ({"typed": "2 1/4", "seen": None, "age": -1}, "age"),
    ({"typed": "x" * 300, "seen": None}, "typed"),
]


@pytest.mark.parametrize(("body", "field"), WRONG)
def test_what_is_wrong_is_named(
    chief: Caller, sheet: Sheet, body: dict[str, Any], field: str
) -> None:
    refused = done(chief("put", f"/sheets/{sheet.pk}/boxes/{BOX}", body), 400)
    assert field in str(refused)


@pytest.mark.parametrize("box", ["ride-height", "ride-height.top", "wings.LF", f"{BOX}.9", "..."])
def test_no_such_box(chief: Caller, sheet: Sheet, box: str) -> None:
    done(put(chief, sheet.pk, "2 1/4", box=box), 404)
    body = {"boxes": [{"box": box, "typed": "2 1/4", "seen": None}]}
    assert "boxes" in str(done(chief("post", f"/sheets/{sheet.pk}/boxes", body), 400))


def test_a_closed_sheet_takes_nothing(chief: Caller, sheet: Sheet) -> None:
    put(chief, sheet.pk, "2 1/4")
    done(chief("post", f"/sheets/{sheet.pk}/close"))
    done(put(chief, sheet.pk, "2 3/8"), 409)
    body = {"boxes": [{"box": BOX, "typed": "2 3/8", "seen": None}]}
    result = done(chief("post", f"/sheets/{sheet.pk}/boxes", body))["results"][0]
    assert result["status"] in {"refused", "conflict"}
    box = at(done(chief("get", f"/sheets/{sheet.pk}/bench/ride-heights")), BOX)
    assert box["takes"][0]["typed"] == "2 1/4"


READ = ["bench", "bench/ride-heights", "boxes", "trail"]


@pytest.mark.parametrize("end", READ)
def test_as_many_queries_for_one_reading_as_for_three(
    chief: Caller, sheet: Sheet, end: str
) -> None:
    def asked() -> int:
        with CaptureQueriesContext(connection) as seen:
            done(chief("get", f"/sheets/{sheet.pk}/{end}"))
        return len([q for q in seen if "SAVEPOINT" not in q["sql"]])

    put(chief, sheet.pk, "2 1/4")
    asked()  # what is read once a process is read here
    one = asked()
    put(chief, sheet.pk, "2 3/8", box="ride-height.RF")
    put(chief, sheet.pk, "2 1/4", box="ride-height.LR")
    assert asked() == one <= 18
