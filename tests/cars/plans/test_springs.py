"""Springs and tyres of a car: as it stands, one from its wire, and another one at a corner."""

import re
from typing import Any

import pytest
from django.test import Client

from cars.baselines.actions.baselines import (
    Target,
    copy_baseline,
    publish_baseline,
    set_baseline_values,
)
from cars.baselines.actions.chassis import add_chassis
from cars.garage.actions.cars import add_car
from cars.models import Measure
from clubsetup.access.viewer import viewing_as
from tests.cars.garage import Garage, typed
from tests.cars.plans.evening import Evening
from tests.people import People

POUND = 0.1751268352464764  # N/mm in 1 lb/in, NIST SP 811


@pytest.fixture
def chief(client: Client, people: People) -> Client:
    client.force_login(people.chief)
    return client


def page(client: Client, garage: Garage, **asked: Any) -> str:
    answer = client.get(f"/cars/{garage.car.pk}/springs", asked)
    assert answer.status_code == 200
    return re.sub(r"\s+", " ", answer.content.decode())


def api(client: Client, garage: Garage, **asked: Any) -> Any:
    return client.get(f"/api/v1/cars/{garage.car.pk}/springs", asked)


def box(text: str, name: str) -> str:
    """What stands in a box."""
    matches = re.findall(rf'<input[^>]*name="{name}"[^>]*id="id_{name}"[^>]*>', text)
    value = re.search(r'value="([^"]*)"', matches[0])
    return value[1] if value else ""


def test_the_chassis_page_says_it_first(chief: Client, garage: Garage) -> None:
    """17.5 N/mm at a ratio of 0.9 on 90 N/mm: 14.175, and 12.2461 with the tyre."""
    answer = api(chief, garage).json()
    lf = answer["corners"][0]
    assert [each["corner"] for each in answer["corners"]] == ["LF", "RF", "LR", "RR"]
    assert lf["rates"]["wheel_rate"] == pytest.approx(17.5 * 0.81)
    assert lf["rates"]["ride_rate"] == pytest.approx(14.175 * 90 / (14.175 + 90))
    # 280 mm from the middle of a track of 762 mm.
    rolling = 14.175 * (280 / 381) ** 2
    assert lf["rates"]["ride_rate_in_roll"] == pytest.approx(rolling * 90 / (rolling + 90))
    assert (lf["read_on"], lf["by_baseline"]) == (None, False)
    text = page(chief, garage)
    assert "99.9 lb/in" in text
    assert "ratio 0.9" in text
    assert "chassis page" in text


def test_the_baseline_says_it_before_the_chassis_page(
    chief: Client, people: People, garage: Garage
) -> None:
    with viewing_as(people.steward.pk):
        draft = copy_baseline(by=people.steward, baseline=garage.baseline, note="Springs.")
        rate = Measure.objects.get(pk="spring-rate")
        target = Target(
            measure=rate,
            spot="LF",
            target=typed(rate, "120"),
            tolerance=typed(rate, "5"),
            source="club",
        )
        set_baseline_values(by=people.steward, baseline=draft, targets=[target])
        publish_baseline(by=people.steward, baseline=draft)
    with viewing_as(people.chief.pk):
        garage.car.baseline = draft
        garage.car.save(update_fields=["baseline"])
    lf, rf = api(chief, garage).json()["corners"][:2]
    assert lf["spring_rate"] == pytest.approx(120 * POUND)
    assert (lf["by_baseline"], rf["by_baseline"]) == (True, False)
    assert "At LF stands 120.0 lb/in (baseline)." in page(chief, garage)


def test_a_spring_that_was_read_says_it_before_all(
    chief: Client, people: People, garage: Garage, evening: Evening
) -> None:
    with viewing_as(people.chief.pk):
        evening.take({"spring-rate.RR": "112"})
    rr = api(chief, garage).json()["corners"][3]
    assert rr["spring_rate"] == pytest.approx(112 * POUND)
    assert rr["read_on"] == str(evening.sheet.pk)
    text = page(chief, garage, corner="RR")
    assert "112.0 lb/in" in text
    assert "At RR stands 112.0 lb/in (As set 14 Mar 2026)." in text
    assert box(text, "rate") == "112.0 lb/in"


def test_another_spring_beside_the_one_that_stands(chief: Client, garage: Garage) -> None:
    """17.5 on 90 N/mm with a ratio of 1 is 14.65116279, as tests/mechanics has it."""
    asked = {"corner": "LF", "rate": "17.5 N/mm", "motion_ratio": "1", "tyre_rate": "90 N/mm"}
    text = page(chief, garage, **asked)
    assert f"{14.65116279 / POUND:.1f} lb/in" in text
    assert f"now {14.175 * 90 / 104.175 / POUND:.1f} lb/in" in text
    assert "Ride rate in roll" in text
    other = api(chief, garage, corner="LF", rate="20 N/mm").json()["other"]
    assert other["wheel_rate"] == pytest.approx(20 * 0.81)


def test_a_corner_fills_the_boxes(chief: Client, garage: Garage) -> None:
    text = page(chief, garage, corner="RF")
    assert box(text, "rate") == f"{19.3 / POUND:.1f} lb/in"
    assert box(text, "motion_ratio") == "0.9"
    assert box(text, "tyre_rate") == f"{90 / POUND:.1f} lb/in"
    assert "errorlist" not in text
    assert "Another spring at RF" in text
    assert "Another spring at LF" in page(chief, garage, corner="XX")


def test_a_coil_is_worked_out_and_ready_to_be_tried(chief: Client, garage: Garage) -> None:
    """d^4 G / (8 D^3 N) in mm, with 79,300 N/mm2."""
    asked = {"wire": "1.25 mm", "mean_diameter": "12 mm", "active_coils": "10.5"}
    answer = api(chief, garage, **asked).json()
    assert answer["coil_rate"] == pytest.approx(1.25**4 * 79_300 / (8 * 12**3 * 10.5))
    text = page(chief, garage, **asked)
    said = f"{answer['coil_rate'] / POUND:.1f} lb/in"
    assert f'<b class="num">{said}</b>' in text
    assert box(text, "rate") == said, "it is ready to be tried at a corner"


def test_the_published_coil(chief: Client, garage: Garage) -> None:
    """Shigley 10th ed., example 10-1: 4.13 lbf/in of 0.037 in wire at 11.85 Mpsi.

    A wire of 0.037 in is thinner than any of a car: 0.04 in, and the steel here, in proportion.
    """
    asked = {"wire": "0.04 in", "mean_diameter": "0.4 in", "active_coils": "10.5"}
    answer = api(chief, garage, **asked).json()["coil_rate"] / POUND
    psi = 6894.757293168361e-6
    assert answer == pytest.approx(4.131102651 * (0.04 / 0.037) ** 4 * 79_300 / (11.85e6 * psi))


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        ({"wire": "0"}, "a spring&#x27;s wire is between"),
        ({"wire": "thin"}, "thin"),
        ({"wire": ""}, "Diameter of the wire"),
        ({"wire": "20 mm", "mean_diameter": "15 mm"}, "cannot be wound to a mean diameter"),
        ({"active_coils": "0"}, "1"),
        ({"active_coils": "many"}, "Active coils"),
    ],
)
def test_a_coil_that_cannot_be_is_said_beside_its_box(
    chief: Client, garage: Garage, asked: dict[str, str], said: str
) -> None:
    given = {"wire": "9 mm", "mean_diameter": "60 mm", "active_coils": "7", **asked}
    text = page(chief, garage, **given)
    (message,) = re.findall(r'class="errorlist"[^>]*> ?<li>(.*?)</li>', text)
    assert said in message
    for name, value in given.items():
        assert box(text, name) == value
    sent = {name: value for name, value in given.items() if value}
    assert api(chief, garage, **sent).status_code == 400


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        ({"rate": "5 lb/in"}, "a spring rate is between"),
        ({"rate": ""}, "Rate of the spring"),
        ({"motion_ratio": "9"}, "2.5"),
        ({"tyre_rate": "1 lb/in"}, "a tyre rate is between"),
    ],
)
def test_a_spring_that_cannot_be_is_said_beside_its_box(
    chief: Client, garage: Garage, asked: dict[str, str], said: str
) -> None:
    given = {"corner": "LR", "rate": "110", "motion_ratio": "0.9", "tyre_rate": "500", **asked}
    text = page(chief, garage, **given)
    (message,) = re.findall(r'class="errorlist"[^>]*> ?<li>(.*?)</li>', text)
    assert said in message
    for name, value in given.items():
        assert box(text, name) == value


def test_half_a_question_is_refused_by_the_api(chief: Client, garage: Garage) -> None:
    assert "wire" in str(api(chief, garage, mean_diameter="60 mm", active_coils="7").json())
    assert api(chief, garage, mean_diameter="60 mm").status_code == 400
    assert "at which corner" in str(api(chief, garage, rate="110").json())


def test_a_chassis_without_geometry_says_so_and_answers_all_the_same(
    chief: Client, people: People, garage: Garage
) -> None:
    with viewing_as(people.steward.pk):
        bare = add_chassis(by=people.steward, club=people.club, name="Plover 2", geometry={})
    with viewing_as(people.chief.pk):
        car = add_car(by=people.chief, team=people.team, number="8", name="", chassis=bare)
    answer = chief.get(f"/cars/{car.pk}/springs")
    assert "no geometry yet" in answer.content.decode()
    asked = {"rate": "17.5 N/mm", "motion_ratio": "1", "tyre_rate": "90 N/mm"}
    text = chief.get(f"/cars/{car.pk}/springs", asked).content.decode()
    assert f"{14.65116279 / POUND:.1f} lb/in" in text
    assert "in roll" not in text
    springs = chief.get(f"/api/v1/cars/{car.pk}/springs").json()
    assert springs["corners"] == []
    assert "no geometry" in springs["missing"]
    refused = chief.get(f"/api/v1/cars/{car.pk}/springs", {"rate": "110", "corner": "LF"})
    assert refused.status_code == 400


def test_it_cautions(chief: Client, garage: Garage) -> None:
    text = page(chief, garage)
    assert "A compressed spring stores enough force to injure" in text
    assert "its officials decide" in text
