"""The family's pre-check: from its own sheet, for the team and its coaches alone."""

from datetime import date
from decimal import Decimal
from statistics import NormalDist

import pytest
from django.test import Client

from cars.garage.actions.cars import edit_car
from cars.sheets.actions.set_sheet import note_change
from cars.sheets.actions.sheets import open_sheet
from clubsetup.access.viewer import viewing_as
from clubsetup.quantities.units import Units
from events.actions.entries import withdraw_entry
from events.precheck.presenters.precheck import Light, precheck_of_car
from events.precheck.presenters.underweight_text import percent
from events.precheck.queries.own_scales import weighed_sheet
from events.precheck.queries.precheck_params import Asked
from events.presenters.mass_text import round_up
from events.queries.rule_sets import rules_for
from events.rules.light import Race
from tests.events.desk.conftest import answers, expected
from tests.events.desk.own_weights import POUND, weights
from tests.events.meeting import RULES, Meeting, make_meeting
from tests.people import People

TWENTY = Race(laps=20, burn=0.03 * POUND, u_burn=0.3, filled=0.0, scales_apart=0.5 * POUND)


def look(meeting: Meeting, race: Race = TWENTY, risk: float = 0.03) -> list[Light]:
    by = meeting.people.chief
    with viewing_as(by.pk):
        found = precheck_of_car(meeting.car, by, Asked(race=race, risk=risk)).precheck
        assert found
        return found.lights


def test_it_says_what_to_add(meeting: Meeting) -> None:
    weights(meeting, "80.0", "72.0", "96.0", "71.8")
    (light,) = look(meeting)
    # By hand: W = 319.8 - 20 x 0.03 = 319.2 lb; u^2 = 4 (0.1^2/12) + (0.6 x 0.3)^2 + 0.5^2/3.
    u = (4 * 0.1**2 / 12 + 0.18**2 + 0.25 / 3) ** 0.5
    assert light.weight.value == pytest.approx(319.2 * POUND)
    assert light.weight.u == pytest.approx(u * POUND)
    assert light.risk == pytest.approx(NormalDist(319.2, u).cdf(320.0))
    need = 320.0 + NormalDist().inv_cdf(0.97) * u - 319.2
    assert need <= float(light.add) / POUND < need + 0.1
    assert light.risk_then == pytest.approx(
        NormalDist(319.2 + float(light.add) / POUND, u).cdf(320.0)
    )
    assert light.text == "Add 1.5 lb before the race: 2.1 % risk of light after 20 laps."


def test_a_heavy_car_needs_nothing(meeting: Meeting) -> None:
    weights(meeting, "85.0", "75.0", "96.0", "75.0")
    (light,) = look(meeting)
    assert light.add == 0
    assert light.text == "Nothing to add: under 0.1 % risk of light after 20 laps."


def test_a_rule_for_before_the_race_burns_no_fuel(people: People) -> None:
    before = ("minimum_weight", {"minimum": "145.1495584", "stage": "entry"})
    meeting = make_meeting(people, [before])
    weights(meeting, "80.0", "72.0", "96.0", "72.0")
    (light,) = look(meeting)
    assert light.laps == 0
    assert light.weight.value == pytest.approx(320 * POUND)
    assert "before the race" in light.text


def test_a_rule_for_the_car_alone_is_not_guessed(people: People) -> None:
    alone = ("minimum_weight", {"minimum": "100", "with_driver": False})
    meeting = make_meeting(people, [alone, *RULES[1:]])
    weights(meeting, "80.0", "72.0", "96.0", "72.0")
    assert look(meeting) == []


def test_the_newest_sheet_with_four_weights_counts(meeting: Meeting) -> None:
    weights(meeting, "70.0", "70.0", "70.0", "70.0")
    newest = weights(meeting, "80.0", "72.0", "96.0", "72.0")
    by = meeting.people.chief
    with viewing_as(by.pk):
        open_sheet(by=by, car=meeting.car, role="found", made_on=date(2026, 6, 6), surface="paved")
        bench = weighed_sheet(meeting.car, by)
    assert bench
    assert bench.sheet == newest


def test_weights_that_a_change_made_stale_do_not_count(meeting: Meeting) -> None:
    sheet, by = weights(meeting, "80.0", "72.0", "96.0", "72.0"), meeting.people.chief
    with viewing_as(by.pk):
        note_change(
            by=by, sheet=sheet, adjuster="upper-rod", spot="LR", amount=Decimal(2), unit="flat"
        )
        assert weighed_sheet(meeting.car, by) is None


def test_without_an_entry_the_rules_of_its_class_today(meeting: Meeting) -> None:
    by = meeting.people.chief
    with viewing_as(by.pk):
        withdraw_entry(by=by, entry=meeting.entry)
        assert rules_for(meeting.car) == (None, None)
        car = edit_car(
            by=by,
            car=meeting.car,
            number="27",
            name="",
            chassis=meeting.car.chassis,
            race_class=meeting.race_class,
            baseline=None,
        )
        assert rules_for(car) == (meeting.rule_set, None)


@pytest.mark.parametrize(
    ("kilograms", "pounds"), [(0.0, "0"), (0.1 * POUND, "0.1"), (0.1001 * POUND, "0.2")]
)
def test_what_to_add_is_rounded_up(kilograms: float, pounds: str) -> None:
    assert round_up(kilograms, Units()) == Decimal(pounds) * Decimal("0.45359237")


@pytest.mark.parametrize(
    ("share", "said"),
    [(0.0, "under 0.1 %"), (0.03, "3.0 %"), (0.25, "25 %"), (0.9999, "over 99.9 %")],
)
def test_chances_in_words(share: float, said: str) -> None:
    assert percent(share) == said


# Who


@pytest.mark.parametrize("asked", ["", "?total=320", "?LF=80&RF=72&LR=96&RR=72", "?laps=x"])
def test_it_is_the_teams_and_its_coachs_page(meeting: Meeting, asked: str) -> None:
    weights(meeting, "80.0", "72.0", "96.0", "71.8")
    path = f"/cars/{meeting.car.pk}/pre-check{asked}"
    hidden = dict.fromkeys(("official", "steward", "unlinked_coach", "rival"), 404)
    assert answers(meeting, path) == expected(members=200, **hidden)


@pytest.mark.parametrize("who", ["official", "steward", "other_official", "unlinked_coach"])
def test_an_official_reaches_no_weight_by_the_query(meeting: Meeting, who: str) -> None:
    weights(meeting, "80.0", "72.0", "96.0", "71.8")
    viewer = getattr(meeting.people, who)
    with viewing_as(viewer.pk):
        assert weighed_sheet(meeting.car, viewer) is None


# The page


@pytest.fixture
def family(client: Client, meeting: Meeting) -> Client:
    client.force_login(meeting.people.chief)
    return client


def test_the_page_says_it_large(family: Client, meeting: Meeting) -> None:
    weights(meeting, "80.0", "72.0", "96.0", "71.8")
    text = family.get(f"/cars/{meeting.car.pk}/pre-check").content.decode()
    assert "Add 1.5 lb before the race: 2.1 % risk of light after 20 laps." in text
    assert "Left side at most 58% of the weight" in text
    assert "common practice, no source" in text
    more = family.get(f"/cars/{meeting.car.pk}/pre-check", {"laps": "100", "burn": "0.05 lb"})
    assert "after 100 laps" in more.content.decode()


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ({"burn": "-1 lb"}, "the fuel burnt a lap is between 0 lb and 2 lb"),
        ({"laps": "x"}, "whole number"),
        ({"risk": "0"}, "1"),
    ],
)
def test_what_cannot_be_is_said_and_nothing_worked_out(
    family: Client, meeting: Meeting, given: dict[str, str], said: str
) -> None:
    weights(meeting, "80.0", "72.0", "96.0", "71.8")
    text = family.get(f"/cars/{meeting.car.pk}/pre-check", given).content.decode()
    assert said in text
    assert "risk of light after" not in text


def test_without_weights_it_says_what_to_do(family: Client, meeting: Meeting) -> None:
    text = family.get(f"/cars/{meeting.car.pk}/pre-check").content.decode()
    assert "No sheet of this car has four weights" in text


def test_the_family_finds_it_from_the_entry(family: Client, meeting: Meeting) -> None:
    path = f"/cars/{meeting.car.pk}/pre-check"
    assert path in family.get(f"/entries/{meeting.entry.pk}/").content.decode()
    family.force_login(meeting.people.official)
    assert path not in family.get(f"/entries/{meeting.entry.pk}/").content.decode()
