"""Rods and block marks accepted as done, and when to leave them alone."""

import re
from decimal import Decimal
from typing import Any
from uuid import uuid4

import pytest
from django.test import Client

from cars.bench.actions import start_bench
from cars.models import Change, Reading, Sheet
from cars.plans.actions.axles import RodTurn, accept_marks, accept_rods
from cars.plans.queries.rods import seen as rods_seen
from cars.plans.queries.sheet_figures import sheet_figures
from cars.sheets.actions.conflicts import OVER_ANYTHING
from cars.sheets.actions.readings import take_typed
from cars.sheets.presenters.sheet_trail import sheet_trail
from cars.sheets.presenters.sheet_view import sheet_view
from cars.sheets.queries.sheets import set_sheet_of
from clubsetup.access.errors import Invalid, NotAllowed, WrongState
from clubsetup.access.models import TrailLine
from clubsetup.access.viewer import viewing_as
from tests.cars.garage import Garage
from tests.cars.plans.evening import Evening, make_evening
from tests.markup import one_line, plain
from tests.people import People

REAR = {
    "rear-bar.left": "7 1/4",
    "rear-bar.right": "7 3/8",
    "carrier-rotation.left": "4",
    "carrier-rotation.right": "5",
}
RODS = "threads=24&both_ends=on&upper=2&lower=2&frame_is=ahead"
HALF = [RodTurn("left", "upper", Decimal("0.5")), RodTurn("right", "lower", Decimal("-0.25"))]


@pytest.fixture
def chief(client: Client, people: People) -> Client:
    client.force_login(people.chief)
    return client


def page(client: Client, sheet: Sheet, end: str) -> str:
    answer = client.get(f"/sheets/{sheet.pk}/{end}")
    assert answer.status_code == 200
    return str(answer.content.decode())


def sent(text: str, *names: str) -> dict[str, Any]:
    """The hidden fields of the first form that has them all."""
    for form in re.findall(r"<form.*?</form>", text, re.DOTALL):
        fields = re.findall(r'type="hidden" name="(\w+)" value="([^"]*)"', form)
        if set(names) <= {name for name, _ in fields}:
            return {name: [value for n, value in fields if n == name] for name in names}
    raise AssertionError(f"no form has {names}")


# Rods


def test_rods_that_were_turned_are_noted_and_asked_for_again(
    chief: Client, people: People, evening: Evening
) -> None:
    with viewing_as(people.chief.pk):
        evening.take(REAR)
    form = sent(page(chief, evening.sheet, f"rods?{RODS}"), "turn", "seen")
    assert len(form["turn"]) == 4
    address = f"/sheets/{evening.sheet.pk}/rods/turned"
    text = chief.post(address, form, follow=True).content.decode()
    assert "The turns are noted." in text
    assert "Something was changed since: take bar and rotation again." in text
    with viewing_as(people.chief.pk):
        noted = {
            (change.adjuster, change.spot, change.amount, change.unit)
            for change in Change.objects.all()
        }
        assert noted == {
            (f"rear-rod-{rod}", side, Decimal(turns), "turn")
            for side, rod, turns in (one.split(":") for one in form["turn"])
        }
        view = sheet_view(evening.sheet, people.chief)
        for box in (*REAR, "ride-height.LF", "weight.RR"):
            assert view.box(*box.split(".")).is_retake, box
        assert not view.box("pressure", "LF").is_retake
        trail = TrailLine.objects.filter(did="turned rods")
        assert [row.by for row in trail] == [people.chief]
        said = [line.what for line in sheet_trail(evening.sheet)]
        assert "turned the radius rods as worked out" in said
    text = chief.post(address, form, follow=True).content.decode()
    assert "notice-error" in text
    with viewing_as(people.chief.pk):
        assert Change.objects.count() == len(form["turn"])


def test_rods_are_refused_twice_and_on_other_readings(people: People, evening: Evening) -> None:
    with viewing_as(people.chief.pk):
        evening.take(REAR)
        seen = rods_seen(sheet_figures(evening.sheet, people.chief))
        evening.take({"rear-bar.left": "7 5/16"})
        with pytest.raises(WrongState, match="A reading has changed"):
            accept_rods(by=people.chief, sheet=evening.sheet, turns=HALF, seen=seen)
        accept_rods(by=people.chief, sheet=evening.sheet, turns=HALF, seen=OVER_ANYTHING)
        with pytest.raises(WrongState, match="take bar and rotation again"):
            accept_rods(by=people.chief, sheet=evening.sheet, turns=HALF, seen=OVER_ANYTHING)
        assert Change.objects.count() == 2


@pytest.mark.parametrize(
    "wrong",
    [
        [],
        [RodTurn("left", "upper", Decimal(0))],
        [RodTurn("middle", "upper", Decimal(1))],
        [RodTurn("left", "third", Decimal(1))],
        [RodTurn("left", "upper", Decimal(21))],
        [RodTurn("left", "upper", Decimal(1)), RodTurn("left", "upper", Decimal(1))],
    ],
)
def test_nonsense_turns_of_rods_note_nothing(
    people: People, evening: Evening, wrong: list[RodTurn]
) -> None:
    with viewing_as(people.chief.pk):
        evening.take(REAR)
        with pytest.raises(Invalid):
            accept_rods(by=people.chief, sheet=evening.sheet, turns=wrong, seen=OVER_ANYTHING)
        assert not Change.objects.exists()


@pytest.mark.parametrize("turn", ["left:upper:many", "left:upper:nan", "left", "::"])
def test_nonsense_from_a_form_says_so(chief: Client, evening: Evening, turn: str) -> None:
    address = f"/sheets/{evening.sheet.pk}/rods/turned"
    answer = chief.post(address, {"turn": [turn]})
    assert answer.status_code == 400


@pytest.mark.parametrize("who", ["guest", "coach"])
def test_who_only_reads_accepts_neither(people: People, evening: Evening, who: str) -> None:
    with viewing_as(people.chief.pk):
        evening.take(REAR)
    by = getattr(people, who)
    with viewing_as(by.pk):
        with pytest.raises(NotAllowed):
            accept_rods(by=by, sheet=evening.sheet, turns=HALF, seen=OVER_ANYTHING)
        with pytest.raises(NotAllowed):
            accept_marks(
                by=by, sheet=evening.sheet, side="left", marks=["2", "1"], seen=OVER_ANYTHING
            )


def test_on_a_car_as_found_they_go_on_the_sheet_as_set(people: People, garage: Garage) -> None:
    with viewing_as(people.chief.pk):
        found = make_evening(garage, people.chief, role="found")
        found.take({**REAR, "block-marks.left": "1/1", "camber.left": "0.5"})
        accept_rods(by=people.chief, sheet=found.sheet, turns=HALF, seen=OVER_ANYTHING)
        accept_marks(
            by=people.chief, sheet=found.sheet, side="left", marks=["2", "1"], seen=OVER_ANYTHING
        )
        as_set = set_sheet_of(found.sheet)
        assert as_set is not None
        assert {change.sheet_id for change in Change.objects.all()} == {as_set.pk}
        assert not sheet_view(found.sheet, people.chief).box("rear-bar", "left").is_retake
        assert sheet_view(found.sheet, people.chief).box("block-marks", "left").text == "1/1"
        assert sheet_view(as_set, people.chief).box("block-marks", "left").text == "2 / 1"


def test_an_end_on_target_is_left_alone(chief: Client, people: People, garage: Garage) -> None:
    """A target of 7 1/4 and 4 degrees, where the tape and the gauge say so."""
    with viewing_as(people.chief.pk):
        own = garage.sheet(people.chief, role="target")
        wanted = {"rear-bar.left": "7 1/4", "carrier-rotation.left": "4"}
        wanted |= {"rear-bar.right": "7 1/4", "carrier-rotation.right": "4"}
        take_typed(by=people.chief, sheet=own, typed=wanted)
        bench = start_bench(by=people.chief, car=garage.car, role="set", target=own)
        take_typed(by=people.chief, sheet=bench, typed={**REAR, "rear-bar.right": "7 5/8"})
    text = plain(page(chief, bench, f"rods?{RODS}"))
    left, right = text.split("Right end")
    assert "on target</span>: leave it." in left
    assert "the upper rod by" not in left
    assert "the upper rod by" in right
    assert all(turn.startswith("right:") for turn in sent(text, "turn", "seen")["turn"])


def test_rods_over_the_api(chief: Client, people: People, evening: Evening) -> None:
    with viewing_as(people.chief.pk):
        evening.take(REAR)
    address = f"/api/v1/sheets/{evening.sheet.pk}/rods"
    answer = chief.get(f"{address}?threads=24&upper=2&lower=2").json()
    assert [end["outcome"] for end in answer["ends"]] == ["no target", "no target"]
    turns = [
        {"side": end["side"], "rod": rod, "turns": end["turns"][rod]}
        for end in answer["ends"]
        for rod in ("upper", "lower")
        if end["turns"][rod]
    ]
    given = {"id": str(uuid4()), "turns": turns, "seen": answer["seen"]}
    first = chief.post(address, given, "application/json")
    again = chief.post(address, given, "application/json")
    assert (first.status_code, again.status_code) == (201, 200)
    assert len(first.json()) == len(turns)
    other = chief.post(address, {"turns": turns, "seen": "anything"}, "application/json")
    assert other.status_code == 409
    assert "take bar and rotation again" in other.json()["detail"]


# Block marks


def bench_for(people: People, garage: Garage, camber: str, *pairs: tuple[str, str]) -> Sheet:
    """A bench towards that camber, of a car with these marks and cambers on earlier sheets."""
    own = garage.sheet(people.chief, role="target")
    take_typed(by=people.chief, sheet=own, typed={"camber.left": camber})
    for marks, gave in pairs:
        read = {"block-marks.left": marks, "camber.left": gave, "caster.left": "3"}
        take_typed(by=people.chief, sheet=garage.sheet(people.chief), typed=read)
    return start_bench(by=people.chief, car=garage.car, role="set", target=own)


PAIRS = [("1/1", "0.5"), ("2/1", "1.5"), ("1/2", "1.0"), ("2/2", "2.0")]


def test_a_camber_on_target_is_left_alone(chief: Client, people: People, garage: Garage) -> None:
    with viewing_as(people.chief.pk):
        bench = bench_for(people, garage, "1.5", *PAIRS)
        typed = {"block-marks.left": "2/1", "camber.left": "1.5"}
        take_typed(by=people.chief, sheet=bench, typed=typed)
    text = page(chief, bench, "marks")
    assert "Left: <span>leave it</span>" in one_line(text)
    assert "read " not in re.sub(r"not read|read it again|read so far", "", side(text))
    assert "I set these" not in text
    left = chief.get(f"/api/v1/sheets/{bench.pk}/block-marks").json()[0]
    assert (left["outcome"], left["leave"], left["measure_next"]) == ("on target", True, [])


def side(text: str) -> str:
    return text[text.index('id="h-left"') : text.index('id="h-right"')]


def test_known_marks_that_give_the_angle_are_named_first(
    chief: Client, people: People, garage: Garage
) -> None:
    """Three settings of four are known; one gives the angle, so the fourth is not asked for."""
    with viewing_as(people.chief.pk):
        bench = bench_for(people, garage, "1.5", *PAIRS[:3], *PAIRS[:3])
        typed = {"block-marks.left": "1/1", "camber.left": "0.5"}
        take_typed(by=people.chief, sheet=bench, typed=typed)
    text = side(page(chief, bench, "marks"))
    assert text.index("Set 2 / 1: it is expected to give 1.5° ± ") < text.index("<table")
    assert "To know these blocks better" not in text


def test_reading_another_comes_after_and_only_where_the_chart_is_thin(
    chief: Client, people: People, garage: Garage
) -> None:
    with viewing_as(people.chief.pk):
        thin = bench_for(people, garage, "1.5", *PAIRS[:2])
    text = side(page(chief, thin, "marks"))
    assert text.index("Set 2 / 1: it is expected") < text.index("To know these blocks better, read")
    assert "too few repeats" in text


def test_marks_that_nothing_known_gives_are_looked_for(
    chief: Client, people: People, garage: Garage
) -> None:
    with viewing_as(people.chief.pk):
        bench = bench_for(people, garage, "4", ("1/1", "0.5"), ("2/2", "2.0"))
    text = side(page(chief, bench, "marks"))
    assert "2 / 2 is the nearest known: expected to give 2.0°" in text
    assert "still off by −2.0°" in text
    assert "2 of 4 settings are not known yet" in text


def test_marks_that_were_set_are_noted_and_the_gauge_is_asked_for(
    chief: Client, people: People, garage: Garage
) -> None:
    with viewing_as(people.chief.pk):
        bench = bench_for(people, garage, "1.5", *PAIRS)
        typed = {"block-marks.left": "1/1", "camber.left": "0.5", "caster.left": "3"}
        take_typed(by=people.chief, sheet=bench, typed={**typed, "camber.right": "1"})
    form = sent(page(chief, bench, "marks"), "side", "mark", "seen")
    assert (form["side"], form["mark"]) == (["left"], ["2", "1"])
    address = f"/sheets/{bench.pk}/marks/set"
    text = chief.post(address, form, follow=True).content.decode()
    assert "The marks are noted. Read camber and caster again." in text
    with viewing_as(people.chief.pk):
        (change,) = Change.objects.all()
        assert (change.adjuster, change.spot, change.by) == ("block", "left", people.chief)
        view = sheet_view(bench, people.chief)
        assert view.box("block-marks", "left").text == "2 / 1"
        assert not view.box("block-marks", "left").is_retake
        assert view.box("camber", "left").is_retake
        assert view.box("camber", "left").words == "take again: block left set anew"
        assert view.box("caster", "left").is_retake
        assert not view.box("camber", "right").is_retake
        assert "set the block marks" in [line.what for line in sheet_trail(bench)]
        assert TrailLine.objects.get(did="set marks").detail["marks"] == "2 / 1"
    text = chief.post(address, form, follow=True).content.decode()
    assert "notice-error" in text
    with viewing_as(people.chief.pk):
        with pytest.raises(WrongState, match="at 2 / 1 already"):
            accept_marks(
                by=people.chief, sheet=bench, side="left", marks=["2", "1"], seen=OVER_ANYTHING
            )
        assert Change.objects.count() == 1
        take_typed(by=people.chief, sheet=bench, typed={"camber.left": "1.5"})
        assert Reading.objects.filter(measure="block-marks", sheet=bench).count() == 2
    assert "Left: <span>leave it</span>" in one_line(page(chief, bench, "marks"))


@pytest.mark.parametrize(
    "wrong",
    [
        {"side": "front", "marks": ["2"]},
        {"side": "left", "marks": []},
        {"side": "left", "marks": ["  "]},
        {"side": "left", "marks": ["123456789"]},
        {"side": "left", "marks": ["1"] * 5},
    ],
)
def test_nonsense_marks_note_nothing(
    people: People, evening: Evening, wrong: dict[str, Any]
) -> None:
    with viewing_as(people.chief.pk):
        with pytest.raises(Invalid):
            accept_marks(by=people.chief, sheet=evening.sheet, **wrong, seen=OVER_ANYTHING)
        assert not Change.objects.exists()


def test_marks_over_the_api(chief: Client, people: People, garage: Garage) -> None:
    with viewing_as(people.chief.pk):
        bench = bench_for(people, garage, "1.5", *PAIRS)
        typed = {"block-marks.left": "1/1", "camber.left": "0.5"}
        take_typed(by=people.chief, sheet=bench, typed=typed)
    address = f"/api/v1/sheets/{bench.pk}/block-marks"
    left = chief.get(address).json()[0]
    assert left["outcome"] == "off"
    assert left["choices"][0]["marks"] == ["2", "1"]
    assert [each["stands"] for each in left["choices"] if each["marks"] == ["1", "1"]] == [True]
    given = {"id": str(uuid4()), "side": "left", "marks": ["2", "1"], "seen": left["seen"]}
    first = chief.post(address, given, "application/json")
    again = chief.post(address, given, "application/json")
    assert (first.status_code, again.status_code) == (201, 200)
    assert first.json() == again.json()
    assert first.json()["id"] == given["id"]
    stale = {"side": "left", "marks": ["2", "2"], "seen": left["seen"]}
    assert chief.post(address, stale, "application/json").status_code == 409
