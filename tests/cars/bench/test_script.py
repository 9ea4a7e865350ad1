"""What the bench page's script sends and asks for."""

import json
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from cars.models import Measure, Reading, Sheet
from cars.sheets.actions.readings import take_typed
from cars.sheets.actions.sheets import close_sheet
from clubsetup.access.ids import new_id
from clubsetup.access.viewer import viewing_as
from tests.cars.bench.conftest import Post, Standing, as_user, poster
from tests.cars.filling import everything
from tests.cars.garage import Garage
from tests.people import People

LF = "ride-height.LF"


def now(client: Client, sheet: Sheet, version: str = "", step: str = "ride-heights") -> Any:
    return client.get(f"/sheets/{sheet.pk}/bench/{step}/now", {"version": version})


def undo(client: Client, sheet: Sheet, seen: str) -> Any:
    body = json.dumps({"box": LF, "seen": seen})
    path = f"/sheets/{sheet.pk}/bench/ride-heights/undo"
    return client.post(path, body, content_type="application/json").json()["results"][0]


def box(said: dict[str, Any], name: str = LF) -> dict[str, str]:
    return next(each for each in said["boxes"] if each["name"] == name)


def test_a_reading_is_kept_under_the_phones_own_id(
    crew: Client, sheet: Sheet, post: Post, standing: Standing
) -> None:
    mine = str(new_id())
    said = post(crew, "ride-heights", box=LF, text="2 1/4", id=mine).json()
    assert said["results"] == [
        {"id": mine, "box": LF, "status": "saved", "seen": mine, "says": "", "stands": "2 1/4"}
    ]
    assert box(said) == {"name": LF, "seen": mine, "text": "2 1/4", "by": ""}
    assert "on target" in said["parts"]["v-ride-height--LF"]
    assert "1 of 4" in said["parts"]["s-ride-heights"]
    assert standing() == {LF: "2 1/4"}


def test_sent_twice_makes_one(crew: Client, sheet: Sheet, post: Post, people: People) -> None:
    given = {"box": LF, "text": "2 1/4", "id": str(new_id())}
    first, second = post(crew, "ride-heights", **given), post(crew, "ride-heights", **given)
    assert first.json()["results"] == second.json()["results"]
    with viewing_as(people.crew.pk):
        assert Reading.objects.count() == 1


def test_each_box_by_itself_a_wrong_one_does_not_hold_up_the_rest(
    crew: Client, post: Post, standing: Standing
) -> None:
    rows = ({"box": LF, "text": "46 9/7"}, {"box": "ride-height.RF", "text": "2 3/8"})
    said = post(crew, "ride-heights", *rows).json()
    assert [r["status"] for r in said["results"]] == ["wrong", "saved"]
    assert "not less than one" in said["results"][0]["says"]
    assert standing() == {"ride-height.RF": "2 3/8"}


def test_boxes_of_other_steps_are_kept_too(crew: Client, post: Post, standing: Standing) -> None:
    said = post(crew, "scales", {"box": LF, "text": "2"}, {"box": "pressure.RR", "text": "11"})
    assert [r["status"] for r in said.json()["results"]] == ["saved", "saved"]
    assert said.json()["step"] == "scales"
    assert standing() == {LF: "2", "pressure.RR": "11"}


def test_a_conflict_is_put_to_the_person(
    crew: Client, chief: Client, post: Post, standing: Standing
) -> None:
    theirs = post(chief, "ride-heights", box=LF, text="2 3/8").json()["results"][0]["seen"]
    answer = post(crew, "ride-heights", box=LF, text="2 1/4").json()["results"][0]
    assert answer["status"] == "conflict"
    assert answer["says"] == "Chief wrote 2 3/8 a moment ago; you typed 2 1/4."
    assert (answer["seen"], answer["theirs"]) == (theirs, "2 3/8")
    assert standing() == {LF: "2 3/8"}
    mine = post(crew, "ride-heights", box=LF, text="2 1/4", seen=theirs).json()
    assert mine["results"][0]["status"] == "saved"
    assert standing() == {LF: "2 1/4"}


def test_a_conflict_with_oneself_on_another_phone_says_so(crew: Client, post: Post) -> None:
    post(crew, "ride-heights", box=LF, text="2 3/8")
    answer = post(crew, "ride-heights", box=LF, text="2 1/4").json()["results"][0]
    assert answer["says"].startswith("You yourself, on another page, wrote 2 3/8")


def test_a_reading_was_taken_when_it_was_typed(crew: Client, post: Post, people: People) -> None:
    before = timezone.now()
    post(crew, "ride-heights", box=LF, text="2 1/4", age=3600)
    with viewing_as(people.crew.pk):
        row = Reading.objects.get()
    assert 3590 < (before - row.taken_at).total_seconds() < 3610
    assert row.created_at >= before


@pytest.mark.parametrize("age", [-3600, 1e12])
def test_a_phone_whose_clock_was_set_makes_no_reading_of_the_future_or_of_long_ago(
    crew: Client, post: Post, people: People, age: float
) -> None:
    post(crew, "ride-heights", box=LF, text="2 1/4", age=age)
    with viewing_as(people.crew.pk):
        waited = timezone.now() - Reading.objects.get().taken_at
    assert 0 <= waited.total_seconds() < 31 * 24 * 3600


class TestAsking:
    def test_nothing_new_is_nothing_sent(self, crew: Client, sheet: Sheet, post: Post) -> None:
        version = post(crew, "ride-heights", box=LF, text="2").json()["version"]
        answer = now(crew, sheet, version)
        assert (answer.status_code, answer.content) == (204, b"")

    def test_others_readings_come_with_their_name(
        self, crew: Client, chief: Client, sheet: Sheet, post: Post
    ) -> None:
        version = now(crew, sheet).json()["version"]
        post(chief, "ride-heights", box=LF, text="2 3/8")
        said = now(crew, sheet, version).json()
        assert box(said)["text"] == "2 3/8"
        assert box(said)["by"] == "Chief"
        assert now(crew, sheet, said["version"]).status_code == 204

    def test_every_kind_of_news_is_news(self, people: People, crew: Client, garage: Garage) -> None:
        with viewing_as(people.crew.pk):
            sheet = garage.sheet(people.crew, role="set")
        post = poster(sheet)
        versions = [now(crew, sheet).json()["version"]]
        first = post(crew, "ride-heights", box=LF, text="2").json()
        versions.append(first["version"])
        emptied = post(crew, "ride-heights", box=LF, text="", seen=box(first)["seen"]).json()
        versions.append(emptied["version"])
        undo(crew, sheet, "none")
        versions.append(now(crew, sheet).json()["version"])
        change = {"adjuster": "spring-seat", "spot": "LF", "amount": "1", "unit": "turn"}
        path = f"/sheets/{sheet.pk}/bench/ride-heights/change"
        crew.post(path, {f"change-{name}": value for name, value in change.items()})
        versions.append(now(crew, sheet).json()["version"])
        with viewing_as(people.crew.pk):
            close_sheet(by=people.crew, sheet=sheet)
        closed = now(crew, sheet).json()
        assert closed["state"] == "closed"
        assert len({*versions, closed["version"]}) == 6

    def test_is_cheap(self, crew: Client, people: People, sheet: Sheet) -> None:
        """Session, person, viewer and one more: however much stands on the sheet."""
        with viewing_as(people.crew.pk):
            take_typed(by=people.crew, sheet=sheet, typed=everything(Measure.objects.in_bulk()))
        version = now(crew, sheet).json()["version"]
        with CaptureQueriesContext(connection) as queries:
            assert now(crew, sheet, version).status_code == 204
        asked = [q["sql"] for q in queries if not q["sql"].startswith(("SAVEPOINT", "RELEASE"))]
        assert len(asked) == 4

    def test_in_the_persons_own_units(
        self, crew: Client, people: People, sheet: Sheet, post: Post
    ) -> None:
        with viewing_as(people.crew.pk):
            people.crew.preferred_units = {"length": "mm"}
            people.crew.save(update_fields=["preferred_units"])
        said = post(crew, "ride-heights", box=LF, text="57.15").json()
        assert "on target" in said["parts"]["v-ride-height--LF"]
        assert box(now(as_user(people.chief), sheet).json())["text"] == "57.15 mm"


class TestUndo:
    def test_puts_back_what_stood(
        self, crew: Client, sheet: Sheet, post: Post, standing: Standing
    ) -> None:
        first = box(post(crew, "ride-heights", box=LF, text="2 1/4").json())["seen"]
        said = post(crew, "ride-heights", box=LF, text="2 3/8", seen=first).json()
        assert ">2 1/4</span>" in said["parts"]["p-ride-height--LF"].partition("Put back")[2]
        assert undo(crew, sheet, box(said)["seen"])["status"] == "saved"
        assert standing() == {LF: "2 1/4"}

    def test_not_what_somebody_else_wrote_since(
        self, crew: Client, chief: Client, sheet: Sheet, post: Post, standing: Standing
    ) -> None:
        first = box(post(crew, "ride-heights", box=LF, text="2 1/4").json())["seen"]
        post(chief, "ride-heights", box=LF, text="2 3/8", seen=first)
        answer = undo(crew, sheet, first)
        assert (answer["status"], standing()) == ("refused", {LF: "2 3/8"})
        assert "Chief wrote 2 3/8" in answer["says"]


def test_a_sheet_that_was_closed_meanwhile_says_so_and_takes_nothing(
    people: People, crew: Client, sheet: Sheet, post: Post, standing: Standing
) -> None:
    post(crew, "ride-heights", box=LF, text="2 1/4")
    with viewing_as(people.chief.pk):
        close_sheet(by=people.chief, sheet=sheet)
    said = post(crew, "ride-heights", box="ride-height.RF", text="2 3/8").json()
    assert said["results"][0]["status"] == "refused"
    assert "closed" in said["results"][0]["says"]
    assert said["state"] == "closed"
    assert standing() == {LF: "2 1/4"}


BAD = [
    "",
    "[]",
    "{}",
    '{"readings": 3}',
    '{"readings": [3]}',
    '{"readings": [{"box": "ride-height.LF", "text": "2"}]}',
    '{"readings": [{"id": "x", "box": "ride-height.LF", "text": "2"}]}',
    '{"readings": [{"id": "01a21247-e077-7942-96ea-2c25a4373191", "box": "nowhere"}]}',
    '{"readings": [{"id": "01a21247-e077-7942-96ea-2c25a4373191", "box": "ride-height.LF",'
    ' "seen": "me"}]}',
    '{"readings": [{"id": "01a21247-e077-7942-96ea-2c25a4373191", "box": "ride-height.LF",'
    ' "age": "NaN"}]}',
    '{"readings": [{"id": "01a21247-e077-7942-96ea-2c25a4373191", "box": "ride-height.LF",'
    ' "age": "Infinity"}]}',
]


@pytest.mark.parametrize("body", BAD)
def test_what_the_script_never_sends_is_refused(crew: Client, sheet: Sheet, body: str) -> None:
    path = f"/sheets/{sheet.pk}/bench/ride-heights/save"
    assert crew.post(path, body, content_type="application/json").status_code == 400


def test_an_unknown_measure_and_odd_letters_are_refused_by_the_box(
    crew: Client, post: Post, standing: Standing
) -> None:
    rows = (
        {"box": "no-such.LF", "text": "2"},
        {"box": "block-marks.left", "text": "2\x00nd"},
        {"box": "cross.car", "text": "52"},
    )
    said = post(crew, "kingpin", *rows).json()["results"]
    assert [r["status"] for r in said] == ["refused", "saved", "wrong"]
    assert standing() == {"block-marks.left": "2nd"}


@pytest.mark.parametrize(
    ("who", "status"),
    [("guest", 403), ("coach", 403), ("official", 404), ("steward", 404), ("rival", 404)],
)
def test_who_may_not(
    people: People, sheet: Sheet, post: Post, standing: Standing, who: str, status: int
) -> None:
    client = as_user(getattr(people, who))
    assert post(client, "ride-heights", box=LF, text="2").status_code == status
    body = json.dumps({"box": LF, "seen": "none"})
    path = f"/sheets/{sheet.pk}/bench/ride-heights/undo"
    assert client.post(path, body, content_type="application/json").status_code == status
    assert now(client, sheet).status_code == (200 if status == 403 else 404)
    assert standing() == {}
