"""Gearing from a car: what its sheets say, what is typed, and what is said of both."""

import re
from datetime import date
from decimal import Decimal
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from cars.sheets.actions.readings import take_typed
from cars.sheets.actions.set_sheet import note_change
from cars.sheets.actions.sheets import open_sheet
from clubsetup.access.viewer import viewing_as
from tests.cars.garage import Garage
from tests.cars.plans.evening import Evening
from tests.people import People

SEES = ["chief", "crew", "guest", "coach"]
BLIND = ["unlinked_coach", "official", "steward", "rival", "stranger"]
# Invented: 11 to 66 teeth, and rear tyres that roll 33 and 35 in.
READ = {
    "teeth-driving.car": "11",
    "teeth-driven.car": "66",
    "circumference.LR": "33",
    "circumference.RR": "35",
}
INCH = 25.4
MPH = 0.44704


@pytest.fixture
def chief(client: Client, people: People) -> Client:
    client.force_login(people.chief)
    return client


def page(client: Client, garage: Garage, **asked: Any) -> str:
    answer = client.get(f"/cars/{garage.car.pk}/gearing", asked)
    assert answer.status_code == 200
    return re.sub(r"\s+", " ", answer.content.decode())


def api(client: Client, garage: Garage, **asked: Any) -> Any:
    return client.get(f"/api/v1/cars/{garage.car.pk}/gearing", asked)


def box(text: str, name: str) -> str:
    """What stands in a box."""
    (matches,) = re.findall(rf'<input[^>]*name="{name}"[^>]*>', text)
    value = re.search(r'value="([^"]*)"', matches)
    return value[1] if value else ""


def refused(text: str) -> list[str]:
    return re.findall(r'class="errorlist"[^>]*> ?<li>(.*?)</li>', text)


@pytest.mark.parametrize("who", [*SEES, *BLIND])
@pytest.mark.parametrize("end", ["gearing", "springs"])
def test_it_is_for_who_sees_the_car(
    client: Client, people: People, garage: Garage, who: str, end: str
) -> None:
    client.force_login(getattr(people, who))
    expected = 200 if who in SEES else 404
    assert client.get(f"/cars/{garage.car.pk}/{end}").status_code == expected
    assert client.get(f"/api/v1/cars/{garage.car.pk}/{end}?driving=11&driven=66").status_code == (
        expected
    )


def test_a_car_without_a_sheet_asks_for_its_teeth(chief: Client, garage: Garage) -> None:
    text = page(chief, garage)
    assert "What it gives" not in text
    assert "errorlist" not in text
    assert "No sheet of the car has it: roll a rear tyre one whole turn" in text


def test_the_sheet_fills_the_boxes_and_says_so(
    chief: Client, people: People, garage: Garage, evening: Evening
) -> None:
    with viewing_as(people.chief.pk):
        evening.take(READ)
    text = page(chief, garage)
    assert (box(text, "driving"), box(text, "driven")) == ("11", "66")
    assert box(text, "roll_out") == "34 in"
    assert "As set 14 Mar 2026: 11 driving 66." in text
    assert "As set 14 Mar 2026: LR 33 in, RR 35 in; their mean is" in text
    assert "6.00" in text


def test_one_rear_tyre_is_taken_alone_and_told(
    chief: Client, people: People, garage: Garage, evening: Evening
) -> None:
    with viewing_as(people.chief.pk):
        evening.take({"circumference.RR": "35 1/16"})
    text = page(chief, garage)
    assert box(text, "roll_out") == "35 1/16 in"
    assert "RR 35 1/16 in, the other not read." in text


def test_each_figure_is_of_the_newest_sheet_that_has_it(
    chief: Client, people: People, garage: Garage, evening: Evening
) -> None:
    with viewing_as(people.chief.pk):
        evening.take(READ)
        later = open_sheet(
            by=people.chief,
            car=garage.car,
            role="found",
            made_on=date(2026, 3, 21),
            surface="paved",
        )
        take_typed(by=people.chief, sheet=later, typed={"teeth-driven.car": "68"})
    text = page(chief, garage)
    assert box(text, "driven") == "68"
    assert box(text, "driving") == "", "what stands on no one sheet is not put together"
    assert box(text, "roll_out") == "34 in"


def test_a_target_sheet_says_nothing_of_the_car(
    chief: Client, people: People, garage: Garage
) -> None:
    with viewing_as(people.chief.pk):
        target = garage.sheet(people.chief, role="target")
        take_typed(by=people.chief, sheet=target, typed=READ)
    assert box(page(chief, garage), "driving") == ""


def test_a_roll_out_that_is_to_be_read_again_is_not_used(
    chief: Client, people: People, garage: Garage, evening: Evening
) -> None:
    with viewing_as(people.chief.pk):
        evening.take(READ)
        note_change(
            by=people.chief,
            sheet=evening.sheet,
            adjuster="pressure",
            spot="RR",
            amount=Decimal(1),
            unit="psi",
        )
    text = page(chief, garage)
    assert "LR 33 in, the other to be read again." in text
    assert box(text, "roll_out") == "33 in"


def test_speed_and_engine_speed_by_hand(chief: Client, garage: Garage) -> None:
    """6000 rpm, 12 to 60 teeth and 850 mm: 17.0 m/s, as tests/mechanics has it."""
    given = {"driving": 12, "driven": 60, "roll_out": "850 mm"}
    text = page(chief, garage, **given, engine_speed=6000)
    assert "Speed at 6,000 rpm" in text
    assert f"{17.0 / MPH:.1f} mph" in text
    answer = api(chief, garage, **given, engine_speed=6000).json()
    assert answer["ratio"] == pytest.approx(5)
    assert answer["ground_speed"] == pytest.approx(17.0)
    assert answer["engine_speed"] is None
    back = api(chief, garage, **given, speed="17 m/s").json()
    assert back["engine_speed"] == pytest.approx(6000)
    assert back["ground_speed"] is None
    assert "Engine at 38.0 mph" in page(chief, garage, **given, speed="38")


def test_the_sprockets_beside_turn_at_the_same_ground_speed(chief: Client, garage: Garage) -> None:
    given = {"driving": 12, "driven": 60, "roll_out": "850 mm", "speed": "17 m/s"}
    answer = api(chief, garage, **given).json()
    assert answer["compared_at"] == pytest.approx(17)
    assert [(line["driven"], round(line["engine_speed"])) for line in answer["neighbours"]] == [
        *((58, 5800), (59, 5900), (60, 6000), (61, 6100), (62, 6200)),
    ]
    text = page(chief, garage, **given)
    assert "Engine at 38.0 mph" in text
    assert "6,200 rpm" in text
    assert "Chain, links" not in text


def test_a_speed_aimed_at_is_what_is_compared(chief: Client, garage: Garage) -> None:
    given = {"driving": 12, "driven": 60, "roll_out": "850 mm"}
    both = api(chief, garage, **given, engine_speed=7000, speed="17 m/s").json()
    assert both["compared_at"] == pytest.approx(17)
    alone = api(chief, garage, **given, engine_speed=7000).json()
    assert alone["compared_at"] == pytest.approx(alone["ground_speed"])


@pytest.mark.parametrize(("driven", "teeth"), [(10, [10, 11, 12]), (150, [148, 149, 150])])
def test_no_sprocket_beside_is_one_that_is_not_made(
    chief: Client, garage: Garage, driven: int, teeth: list[int]
) -> None:
    answer = api(chief, garage, driving=12, driven=driven).json()
    assert [line["driven"] for line in answer["neighbours"]] == teeth


def test_a_first_stage_multiplies(chief: Client, garage: Garage) -> None:
    answer = api(chief, garage, driving=12, driven=36, first_driving=10, first_driven=20).json()
    assert answer["ratio"] == pytest.approx(6)
    assert answer["neighbours"][2]["ratio"] == pytest.approx(6)


def test_the_published_chain(chief: Client, garage: Garage) -> None:
    """34 and 17 teeth, 38 pitches apart: 101.6926436 links; the whole one has 102."""
    given = {"driving": 17, "driven": 34, "centre_distance": "14 1/4 in", "pitch": "3/8 in"}
    chain = api(chief, garage, **given).json()["chain"]
    assert chain["links"] == pytest.approx(101.6926436, abs=1e-7)
    assert chain["whole"] == 102
    # The half of the links that are more, less what the slant gives: some 0.154 pitches.
    assert chain["centre_distance"] / (INCH * 3 / 8) == pytest.approx(38.154, abs=1e-3)
    text = page(chief, garage, **given)
    assert "101.7 that far apart" in text
    assert "102 links" in text
    assert "14 5/16 in" in text
    assert "1/16 in further than asked" in text
    assert "Chain, links" in text


def test_a_chain_that_fits_as_asked(chief: Client, garage: Garage) -> None:
    given = {"driving": 20, "driven": 20, "centre_distance": "15 in", "pitch": "3/8 in"}
    text = page(chief, garage, **given)
    assert "100 links" in text
    assert "as asked" in text


def test_a_sprocket_beside_may_touch(chief: Client, garage: Garage) -> None:
    """12 and 60 teeth touch at 11.48 pitches, 12 and 62 at 11.80."""
    given = {"driving": 12, "driven": 60, "centre_distance": "11.6 in", "pitch": "1 in"}
    answer = api(chief, garage, **given).json()
    assert [line["whole_chain"] is None for line in answer["neighbours"]] == [
        *(False, False, False, True, True)
    ]
    assert "they touch" in page(chief, garage, **given)


@pytest.mark.parametrize(
    ("asked", "field", "said"),
    [
        ({"driving": "twelve"}, "driving", "whole number"),
        ({"driving": "3"}, "driving", "5"),
        ({"driven": "200"}, "driven", "150"),
        ({"roll_out": "3 in"}, "roll_out", "a roll-out is between 20 in and 70 in"),
        ({"roll_out": "big"}, "roll_out", "big"),
        ({"engine_speed": "60000"}, "engine_speed", "20000"),
        ({"roll_out": "", "engine_speed": "6000"}, "roll_out", "Without the roll-out no speed"),
        ({"roll_out": "", "speed": "38"}, "roll_out", "Without the roll-out no speed"),
        ({"speed": "2000"}, "speed", "a speed on the track is between"),
        ({"first_driving": "10"}, "first_driven", "A first stage has two"),
        ({"first_driven": "20"}, "first_driving", "A first stage has two"),
        ({"centre_distance": "9 in"}, "pitch", "pitch too, as in 3/8 in"),
        ({"pitch": "3/8 in"}, "centre_distance", "two shafts are apart too"),
        (
            {"centre_distance": "3 in", "pitch": "3/8 in"},
            "centre_distance",
            "more than 4.31 in apart",
        ),
    ],
)
def test_what_cannot_be_right_is_said_beside_its_box_and_stands_there(
    chief: Client, garage: Garage, asked: dict[str, str], field: str, said: str
) -> None:
    given = {"driving": "12", "driven": "60", "roll_out": "850 mm", **asked}
    text = page(chief, garage, **given)
    (message,) = refused(text)
    assert said in message
    assert "What it gives" not in text
    for name, value in given.items():
        assert box(text, name) == value
    answer = api(chief, garage, **{name: value for name, value in given.items() if value})
    assert answer.status_code == 400
    assert field in str(answer.json()["errors"])


def test_the_api_says_which_teeth_no_sheet_has(chief: Client, garage: Garage) -> None:
    answer = api(chief, garage, driving=12)
    assert answer.status_code == 400
    assert "no sheet of the car has them" in str(answer.json())


def test_the_api_takes_what_the_sheets_say(
    chief: Client, people: People, garage: Garage, evening: Evening
) -> None:
    with viewing_as(people.chief.pk):
        evening.take(READ)
    answer = api(chief, garage, engine_speed=6000).json()
    assert answer["ratio"] == pytest.approx(6)
    assert answer["ground_speed"] == pytest.approx(6000 / 60 / 6 * 34 * INCH / 1000)


def test_what_was_asked_last_is_there_next_time_for_this_car(
    chief: Client, people: People, garage: Garage, evening: Evening
) -> None:
    page(chief, garage, driving=12, driven=60, roll_out="850 mm", engine_speed=6000)
    text = page(chief, garage)
    assert box(text, "engine_speed") == "6000"
    assert box(text, "driving") == "12"
    with viewing_as(people.chief.pk):
        evening.take(READ)
    text = page(chief, garage)
    assert box(text, "driving") == "11", "what is read comes first"
    assert box(text, "engine_speed") == "6000"


def test_it_speaks_the_units_of_who_reads(chief: Client, garage: Garage) -> None:
    chief.post(reverse("my-units"), {"length": "mm", "speed": "km/h"})
    text = page(
        chief,
        garage,
        driving=12,
        driven=60,
        roll_out="850",
        speed="61.2",
        centre_distance="300",
        pitch="8",
    )
    assert "Engine at 61.2 km/h" in text
    assert "6,000 rpm" in text
    assert "mm further than asked" in text


@pytest.mark.parametrize(
    ("step", "ends"),
    [
        ("gearing", ["gearing"]),
        ("springs-dampers", ["springs"]),
        ("tyres", ["gearing", "springs"]),
        ("scales", []),
    ],
)
def test_bench_and_car_lead_to_it_and_it_leads_back(
    chief: Client, garage: Garage, evening: Evening, step: str, ends: list[str]
) -> None:
    bench = reverse("bench-step", args=[evening.sheet.pk, step])
    text = chief.get(bench).content.decode()
    car = chief.get(f"/cars/{garage.car.pk}/").content.decode()
    for end in ("gearing", "springs"):
        address = f'href="/cars/{garage.car.pk}/{end}"'
        assert (address in text) == (end in ends)
        assert address in car
    back = reverse("bench-step", args=[evening.sheet.pk, "gearing"])
    assert f'href="{back}"' in page(chief, garage)


@pytest.mark.parametrize(("end", "most"), [("gearing", 20), ("springs", 16)])
def test_as_many_queries_for_one_sheet_as_for_three(
    chief: Client, people: People, garage: Garage, evening: Evening, end: str, most: int
) -> None:
    chief.get(f"/cars/{garage.car.pk}/{end}")
    asked = []
    for day in (15, 16, 17):
        with viewing_as(people.chief.pk):
            sheet = open_sheet(
                by=people.chief,
                car=garage.car,
                role="found",
                made_on=date(2026, 3, day),
                surface="paved",
            )
            take_typed(by=people.chief, sheet=sheet, typed={**READ, "spring-rate.LF": "110"})
        with CaptureQueriesContext(connection) as queries:
            chief.get(f"/cars/{garage.car.pk}/{end}")
        asked.append(len(queries))
    assert asked == [asked[0]] * 3
    assert asked[0] <= most


def test_it_cautions(chief: Client, garage: Garage) -> None:
    text = page(chief, garage)
    assert "Engine off and its ignition lead off before hands come near chain" in text
    assert "its officials decide" in text
