"""The pages of plans as a phone uses them, with and without htmx."""

import re
import time
from collections.abc import Iterator
from contextlib import contextmanager
from decimal import Decimal
from typing import Any
from unittest.mock import patch

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from cars.baselines.actions.own_targets import set_own_target
from cars.mechanics import Corners
from cars.models import Change, Measure, Plan, Reading, SheetTargetSource
from cars.sheets.actions.sheets import close_sheet, open_sheet
from clubsetup.access.account import set_my_units
from clubsetup.access.viewer import viewing_as
from tests.cars.garage import Garage, typed
from tests.cars.plans.evening import Evening, make_evening
from tests.cars.seen import reading_seen, seen_by
from tests.markup import one_line, plain
from tests.people import People

TURNS = "0.5,-0.5,-0.5,0.5"


@pytest.fixture
def chief(client: Client, people: People) -> Client:
    client.force_login(people.chief)
    return client


def page(client: Client, evening: Evening, end: str, **headers: str) -> str:
    answer = client.get(f"/sheets/{evening.sheet.pk}/{end}", headers=headers or None)
    assert answer.status_code == 200
    return str(answer.content.decode())


def seen_of(text: str) -> str:
    match = re.search(r'name="seen" value="(\w+)"', text)
    assert match
    return match[1]


def test_what_to_turn_offers_a_plan_for_each_number_of_corners(
    chief: Client, evening: Evening
) -> None:
    text = page(chief, evening, "turn")
    for name in ("One corner", "Two corners", "Three corners", "Four corners"):
        assert f"<h3>{name}</h3>" in text
    assert text.count("I turned these") == 4
    known = "what one turn does to cross is known within"
    assert f"Worked out from the chassis, not yet from this car: {known}" in text
    assert "Furthest off after it: " in text
    assert "summed as squares" not in text
    assert "weigh again" in text
    assert "compressed spring" in text


def test_without_ride_heights_nothing_is_green(
    chief: Client, people: People, garage: Garage
) -> None:
    with viewing_as(people.chief.pk):
        bare = make_evening(garage, people.chief, read=False)
        weights = {"weight.LF": "80", "weight.RF": "78", "weight.LR": "90", "weight.RR": "75"}
        bare.take(weights)
    text = page(chief, bare, "turn")
    assert "Cross is on target as read. Ride heights have a target too" in text
    assert "notice-success" not in text
    assert "Nothing needs turning" not in text
    with viewing_as(people.chief.pk):
        bare.take({"ride-height.LF": "2 1/4", "ride-height.RF": "2 3/8"})
        bare.take({"ride-height.LR": "2 1/4", "ride-height.RR": "2 1/2"})
    text = page(chief, bare, "turn")
    assert "Cross and ride heights are on target as read. Nothing needs turning." in text


def test_an_empty_sheet_says_what_to_take_and_has_the_boxes_for_it(
    chief: Client, people: People, garage: Garage
) -> None:
    with viewing_as(people.chief.pk):
        bare = make_evening(garage, people.chief, read=False)
    text = page(chief, bare, "turn")
    assert "Take the four ride heights and the four weights first." in text
    assert 'name="weight.LF"' in text
    assert "I turned these" not in text
    assert "Take the four ride heights" in page(chief, bare, "what-if")


def test_the_evening_by_form_posts_alone(chief: Client, people: People, evening: Evening) -> None:
    seen = seen_of(page(chief, evening, "turn"))
    sent = {"turns": TURNS, "seen": seen}
    answer = chief.post(f"/sheets/{evening.sheet.pk}/turn/accept", sent, follow=True)
    text = plain(answer.content.decode())
    assert "The turns are noted" in text
    assert "↻</span> weigh again" in text
    assert "again at LF, RF, LR and RR: spring seat LF +1/2 turn" in text
    typed = {"weight.LF": "77", "weight.RF": "66.5", "weight.LR": "90", "weight.RR": "75.5"}
    typed["seen"] = seen_by(people.chief, evening.sheet)
    answer = chief.post(f"/sheets/{evening.sheet.pk}/weigh", typed, follow=True)
    text = plain(answer.content.decode())
    assert "Saved: 4 readings." in text
    assert " from the chassis, not yet from this car." in one_line(text)
    assert "1 change learned: what one turn" in text
    assert "✓</span> learned" in text
    assert "<b>77.0 lb</b>" in text
    with viewing_as(people.chief.pk):
        assert Plan.objects.count() == 1
        assert Change.objects.count() == 4


def test_pressing_twice_notes_the_turns_once(
    chief: Client, people: People, evening: Evening
) -> None:
    sent = {"turns": TURNS, "seen": seen_of(page(chief, evening, "turn"))}
    address = f"/sheets/{evening.sheet.pk}/turn/accept"
    chief.post(address, sent)
    text = chief.post(address, sent, follow=True).content.decode()
    assert "notice-error" in text
    with viewing_as(people.chief.pk):
        assert Plan.objects.count() == 1


def test_the_same_weight_again_is_a_new_reading(
    chief: Client, people: People, evening: Evening
) -> None:
    with viewing_as(people.chief.pk):
        was = Reading.objects.current().get(measure="weight", spot="LF")
    sent = {"weight.LF": was.typed, "seen": seen_by(people.chief, evening.sheet)}
    chief.post(f"/sheets/{evening.sheet.pk}/weigh", sent)
    with viewing_as(people.chief.pk):
        now = Reading.objects.current().get(measure="weight", spot="LF")
        assert now.pk != was.pk
        assert now.typed == was.typed


def test_what_cannot_be_read_stays_in_its_box_with_the_reason(
    chief: Client, people: People, evening: Evening
) -> None:
    with viewing_as(people.chief.pk):
        before = Reading.objects.count()
    sent = {"weight.LF": "heavy", "weight.RF": "66"}
    answer = chief.post(f"/sheets/{evening.sheet.pk}/weigh", sent)
    text = answer.content.decode()
    assert answer.status_code == 400
    assert 'value="heavy"' in text
    assert 'value="66"' in text
    assert 'aria-invalid="true"' in text
    with viewing_as(people.chief.pk):
        assert Reading.objects.count() == before


def test_what_was_typed_is_escaped(chief: Client, evening: Evening) -> None:
    sent = {"weight.LF": '"><script>alert(1)</script>'}
    answer = chief.post(f"/sheets/{evening.sheet.pk}/weigh", sent)
    assert b"<script>alert" not in answer.content


def sealed_of(text: str) -> str:
    match = re.search(r'name="sealed" value="([^"]+)"', text)
    assert match
    return match[1]


def slid(client: Client, evening: Evening, sealed: str, **turns: str) -> Any:
    return client.post(
        f"/sheets/{evening.sheet.pk}/what-if/answer",
        {"sealed": sealed, **turns},
        headers={"HX-Request": "true"},
    )


def test_a_slider_is_answered_with_the_figures_of_the_whole_page(
    chief: Client, evening: Evening
) -> None:
    turns = {"LF": "0.5", "RF": "-0.5", "LR": "-0.5", "RR": "0.5"}
    whole = page(chief, evening, "what-if?" + "&".join(f"{c}={t}" for c, t in turns.items()))
    alone = slid(chief, evening, sealed_of(page(chief, evening, "what-if")), **turns)
    text = alone.content.decode()
    assert alone.status_code == 200
    assert 'type="range"' in whole
    assert 'type="range"' not in text, "a slider that is being drawn is not replaced"
    figures = re.findall(r'<td class="num">.*?</td>', one_line(text))
    assert len(figures) == 22
    assert figures == re.findall(r'<td class="num">.*?</td>', one_line(whole))
    assert text.count('hx-swap-oob="true"') == 9
    assert "+1/2 turn" in text
    assert seen_of(text) == seen_of(whole)


def test_a_slider_reads_no_row_of_cars(chief: Client, evening: Evening) -> None:
    sealed = sealed_of(page(chief, evening, "what-if"))
    with CaptureQueriesContext(connection) as queries:
        slid(chief, evening, sealed, LF="1")
    assert not [query for query in queries if "cars_" in query["sql"]]
    assert len(queries) <= 6


def test_what_a_page_carries_is_for_its_person_its_sheet_and_unchanged(
    client: Client, people: People, garage: Garage, evening: Evening
) -> None:
    client.force_login(people.chief)
    sealed = sealed_of(page(client, evening, "what-if"))
    with viewing_as(people.chief.pk):
        other = make_evening(garage, people.chief)
    assert slid(client, other, sealed, LF="1").status_code == 409
    assert slid(client, evening, sealed[:-4] + "AAAA", LF="1").status_code == 409
    assert slid(client, evening, "", LF="1").status_code == 409
    client.force_login(people.rival)
    assert slid(client, evening, sealed, LF="1").status_code == 409


def test_what_a_page_carries_ends_after_an_evening(chief: Client, evening: Evening) -> None:
    sealed = sealed_of(page(chief, evening, "what-if"))
    with time_machine(hours=13):
        assert slid(chief, evening, sealed, LF="1").status_code == 409


@contextmanager
def time_machine(*, hours: int) -> Iterator[None]:
    """The clock that seals are read by, so many hours on."""
    later = time.time() + 3600 * hours
    with patch("django.core.signing.time.time", return_value=later):
        yield


def test_what_if_turns_may_be_accepted(chief: Client, people: People, evening: Evening) -> None:
    text = page(chief, evening, "what-if?LF=0.25")
    values = re.search(r'name="turns" value="([^"]+)"', text)
    assert values
    chief.post(
        f"/sheets/{evening.sheet.pk}/turn/accept",
        {"turns": values[1], "seen": seen_of(text)},
    )
    with viewing_as(people.chief.pk):
        assert list(Plan.objects.get().turns) == [
            Decimal("0.25"),
            Decimal(0),
            Decimal(0),
            Decimal(0),
        ]


@pytest.mark.parametrize("sent", ["LF=nan", "LF=1e9", "turns=1,2", "LF=half", "LF=-500"])
def test_nonsense_for_what_if_says_so(chief: Client, evening: Evening, sent: str) -> None:
    text = page(chief, evening, f"what-if?{sent}")
    assert 'class="error"' in text or "come off the pad" in text


def test_turns_beyond_the_thread_are_pointed_out(chief: Client, evening: Evening) -> None:
    assert "There is not that much thread at LF" in page(chief, evening, "what-if?LF=7")


@pytest.mark.parametrize("bad", [{"turns": "a,b,c,d"}, {"turns": "1,2"}, {}, {"turns": "0,0,0,0"}])
def test_nonsense_to_accept_notes_nothing(
    chief: Client, people: People, evening: Evening, bad: dict[str, str]
) -> None:
    answer = chief.post(f"/sheets/{evening.sheet.pk}/turn/accept", bad, follow=True)
    assert b"notice-error" in answer.content
    with viewing_as(people.chief.pk):
        assert not Plan.objects.exists()


def test_the_cross_one_wants_is_planned_for(chief: Client, evening: Evening) -> None:
    assert "(target 55.0%)" in page(chief, evening, "turn?cross=55")
    assert "(target 52.0%)" in page(chief, evening, "turn?cross=sideways")


def test_the_teams_own_target_may_be_aimed_at(
    chief: Client, people: People, garage: Garage, evening: Evening
) -> None:
    with viewing_as(people.chief.pk):
        own = open_sheet(by=people.chief, car=garage.car, role="target", surface="paved")
        target = Evening(garage, people.chief, own)
        target.take({"weight.LF": "70", "weight.RF": "80", "weight.LR": "88", "weight.RR": "70"})
    text = page(chief, evening, f"turn?targets={own.pk}")
    assert "(target 54.5%)" in text
    assert "(target 52.0%)" in page(chief, evening, "turn")


def own_cross(people: People, garage: Garage, target: str) -> None:
    with viewing_as(people.chief.pk):
        measure = Measure.objects.get(pk="cross")
        set_own_target(
            by=people.chief,
            car=garage.car,
            measure=measure,
            spot="car",
            target=typed(measure, target),
            tolerance=typed(measure, "0.5"),
            surface="paved",
            reason="Loose with this driver.",
        )


def test_the_teams_own_targets_may_be_chosen(
    chief: Client, people: People, garage: Garage, evening: Evening
) -> None:
    assert "Our own targets" not in page(chief, evening, "turn")
    own_cross(people, garage, "53.5")
    assert "(target 52.0%)" in page(chief, evening, "turn"), "the club's figure comes first"
    assert '<option value="own">Our own targets' in page(chief, evening, "turn")
    assert "(target 53.5%)" in page(chief, evening, "turn?targets=own")
    said = chief.get(f"/api/v1/sheets/{evening.sheet.pk}/turn-plans?targets=own").json()
    assert said["target_source"] == "Our own targets"
    assert said["plans"]


def test_a_bench_worked_towards_own_targets_plans_towards_them(
    chief: Client, people: People, garage: Garage, evening: Evening
) -> None:
    own_cross(people, garage, "53.5")
    with viewing_as(people.chief.pk):
        SheetTargetSource.objects.create(sheet=evening.sheet, team=people.team)
    text = page(chief, evening, "turn")
    assert "(target 53.5%)" in text
    assert '<option value="own">' not in text, "what the bench aims at stands there once"
    assert "Our own targets, then" in text


def test_figures_are_in_the_readers_units(chief: Client, people: People, evening: Evening) -> None:
    with viewing_as(people.chief.pk):
        set_my_units(by=people.chief, units={"mass": "kg", "length": "mm"})
    text = page(chief, evening, "what-if?LF=1")
    assert " kg" in text
    assert " mm" in text
    assert " lb" not in text


def test_a_closed_sheet_is_planned_from_and_takes_no_turns(
    chief: Client, people: People, evening: Evening
) -> None:
    with viewing_as(people.chief.pk):
        close_sheet(by=people.chief, sheet=evening.sheet)
    text = page(chief, evening, "turn")
    assert "Four corners" in text
    assert "I turned these" not in text
    sent = {"turns": TURNS}
    answer = chief.post(f"/sheets/{evening.sheet.pk}/turn/accept", sent, follow=True)
    assert "closed" in answer.content.decode()


def test_the_sheet_leads_to_every_tool(chief: Client, evening: Evening) -> None:
    text = page(chief, evening, "")
    for end in ("turn", "what-if", "ballast", "rods", "marks", "lead"):
        assert f'href="/sheets/{evening.sheet.pk}/{end}"' in text


def test_the_same_again_button_stands_at_a_stale_box_only(
    chief: Client, people: People, evening: Evening
) -> None:
    assert "Same again" not in page(chief, evening, "readings")
    sent = {"turns": TURNS, "seen": seen_of(page(chief, evening, "turn"))}
    chief.post(f"/sheets/{evening.sheet.pk}/turn/accept", sent)
    text = page(chief, evening, "readings")
    assert 'name="again" value="weight.LF ' in text
    assert 'name="again" value="cross.car ' not in text, "a computed figure is not read"
    again = reading_seen(people.chief, evening.sheet, "weight", "LF")
    chief.post(f"/sheets/{evening.sheet.pk}/same-again", {"again": f"weight.LF {again}"})
    text = page(chief, evening, "readings")
    assert 'name="again" value="weight.LF ' not in text
    assert 'name="again" value="weight.RF ' in text
    answer = chief.post(f"/sheets/{evening.sheet.pk}/same-again", {"again": "nonsense"})
    assert answer.status_code == 400


CROSS = "[+−]\\d+\\.\\d\\d% ± \\d+\\.\\d\\d%"


def spread(said: str) -> float:
    return float(said.split("± ")[1].rstrip("%"))


def test_what_a_car_has_taught_and_why_it_is_learned_anew(
    chief: Client, people: People, evening: Evening
) -> None:
    car = evening.garage.car.pk
    text = chief.get(f"/cars/{car}/calibration").content.decode()
    assert "No turn plan was accepted yet" in text
    stated = re.findall(rf"One turn of (\w+) moves cross by ({CROSS}), worked out from the", text)
    assert [corner for corner, _ in stated] == ["LF", "RF", "LR", "RR"]
    sent = {"turns": TURNS, "seen": seen_of(page(chief, evening, "turn"))}
    chief.post(f"/sheets/{evening.sheet.pk}/turn/accept", sent)
    with viewing_as(people.chief.pk):
        evening.turn(Corners(0.5, -0.5, -0.5, 0.5))
        evening.weigh()
    text = chief.get(f"/cars/{car}/calibration").content.decode()
    assert "1 change learned" in text
    said = f"One turn of (\\w+) moves cross by ({CROSS}) \\(worked out from the chassis: ({CROSS})"
    learned = re.findall(said, text)
    assert [corner for corner, *_ in learned] == ["LF", "RF", "LR", "RR"]
    for _, now, before in learned:
        assert spread(now) < spread(before)
    assert "Front springs" in text
    again = chief.post(f"/cars/{car}/calibration/reset", {"reason": " "})
    assert again.status_code == 200
    assert "errorlist" in again.content.decode()
    reset = chief.post(f"/cars/{car}/calibration/reset", {"reason": "New frame"}, follow=True)
    assert "because: New frame" in reset.content.decode()
    assert "Worked out from the chassis, not yet" in reset.content.decode()


@pytest.mark.parametrize(("end", "most"), [("turn", 24), ("what-if?LF=1", 24), ("marks", 20)])
def test_as_many_queries_after_three_plans_as_after_one(
    chief: Client, people: People, evening: Evening, end: str, most: int
) -> None:
    asked = []
    for _ in range(3):
        sent = {"turns": TURNS, "seen": seen_of(page(chief, evening, "turn"))}
        chief.post(f"/sheets/{evening.sheet.pk}/turn/accept", sent)
        with viewing_as(people.chief.pk):
            evening.weigh()
        with CaptureQueriesContext(connection) as queries:
            page(chief, evening, end)
        asked.append(len(queries))
    assert asked == [asked[0]] * 3
    assert asked[0] <= most


def test_no_page_has_an_inline_script_or_style(chief: Client, evening: Evening) -> None:
    for end in ("turn", "what-if?LF=1", "ballast", "rods", "marks", "lead"):
        text = page(chief, evening, end)
        assert " style=" not in text
        assert "<style" not in text
        assert not re.search(r"<script(?![^>]*\bsrc=)", text)
        assert " onclick=" not in text


@pytest.mark.parametrize(
    ("step", "end"),
    [
        ("scales", "turn"),
        ("ride-heights", "what-if"),
        ("ballast", "ballast"),
        ("rear-axle", "rods"),
        ("kingpin", "marks"),
        ("lead", "lead"),
    ],
)
def test_the_bench_leads_from_a_step_to_its_tools(
    chief: Client, evening: Evening, step: str, end: str
) -> None:
    address = reverse("bench-step", args=[evening.sheet.pk, step])
    text = chief.get(address).content.decode()
    assert f'href="/sheets/{evening.sheet.pk}/{end}"' in text
