"""The ballast plan of the pre-check: the team's own pieces, for the risk that it accepts."""

import re
from collections.abc import Callable
from typing import Any

import pytest
from django.test import Client
from scipy.stats import norm

from cars.models import BallastMount
from clubsetup.access.viewer import viewing_as
from events.precheck.presenters.ballast import PreCheckBallast
from events.precheck.presenters.precheck import precheck_of_car
from events.precheck.queries.precheck_params import Asked
from events.rules.light import Race
from tests.events.desk.own_weights import (
    POUND,
    on_pads,
    page,
    piece,
    ready_for_ballast,
    weights,
)
from tests.events.meeting import RULES, Meeting, make_meeting
from tests.made_once import MadeOnce
from tests.people import People

LIGHT = ("79.0", "71.0", "95.0", "71.0")  # 316 lb for a minimum of 320
LARGEST = ("ballast_largest_piece", {"at_most": "4.5359237"})  # 10 lb
RACE = Race(laps=20, burn=0.03 * POUND, u_burn=0.3, filled=0.0, scales_apart=0.5 * POUND)


@pytest.fixture(scope="module")
def meeting_once(once: Callable[..., MadeOnce[Meeting]]) -> MadeOnce[Meeting]:
    return once(lambda people: make_meeting(people, [*RULES, LARGEST]))


@pytest.fixture
def mounts(meeting: Meeting) -> list[BallastMount]:
    return ready_for_ballast(meeting)


@pytest.fixture
def family(client: Client, meeting: Meeting, mounts: list[BallastMount]) -> Client:
    client.force_login(meeting.people.chief)
    return client


def ballast(meeting: Meeting, risk: float = 0.03) -> PreCheckBallast:
    by = meeting.people.chief
    with viewing_as(by.pk):
        found = precheck_of_car(meeting.car, by, Asked(race=RACE, risk=risk)).precheck
    assert found
    assert found.ballast
    return found.ballast


def fitted(text: str) -> list[float]:
    """Pounds of each piece that the plans fit."""
    return [float(lb) for lb in re.findall(r"Fit the ([\d.]+) lb piece marked 27 at ", text)]


def test_it_says_which_pieces_go_where(family: Client, meeting: Meeting) -> None:
    weights(meeting, *LIGHT)
    for marked in ("3.0 lb", "2.5 lb", "8.0 lb"):
        piece(meeting, marked)
    text = page(family, meeting)
    assert "Add 5.3 lb before the race" in text
    assert sorted(fitted(text)) == [2.5, 3.0]
    assert "1.0 lb over the minimum" not in text
    assert "Your pieces that reach it" in text
    assert "Ballast that comes loose is a missile" in text


def test_the_plans_risk_is_that_of_the_normal_distribution(
    meeting: Meeting, mounts: list[BallastMount]
) -> None:
    weights(meeting, *LIGHT)
    for marked in ("3.0 lb", "2.5 lb"):
        piece(meeting, marked)
    plan = ballast(meeting).plans[0].plan
    # A bench's plan is for the scales now: 20 laps of fuel are taken off the minimum instead.
    assert plan.weight == pytest.approx((316 + 5.5) * POUND, abs=1e-6)
    after = plan.weight - 20 * 0.03 * POUND
    assert plan.under == pytest.approx(norm.cdf(320 * POUND, after, plan.u_weight))


@pytest.mark.parametrize("risk", [0.01, 0.03, 0.1, 0.5])
def test_the_plan_keeps_within_the_risk_that_is_accepted(
    meeting: Meeting, mounts: list[BallastMount], risk: float
) -> None:
    weights(meeting, *LIGHT)
    for marked in ("0.5 lb", "1.0 lb", "2.0 lb", "4.0 lb", "8.0 lb"):
        piece(meeting, marked)
    found = ballast(meeting, risk)
    assert found.plans[0].plan.under <= risk + 1e-6
    assert not found.words


def test_less_risk_never_takes_less_ballast(meeting: Meeting, mounts: list[BallastMount]) -> None:
    weights(meeting, *LIGHT)
    for marked in ("0.5 lb", "1.0 lb", "2.0 lb", "4.0 lb"):
        piece(meeting, marked)
    weighs = [ballast(meeting, risk).plans[0].plan.weight for risk in (0.5, 0.2, 0.05, 0.01)]
    assert weighs == sorted(weighs)


def test_a_coarsely_marked_piece_takes_a_wider_margin(
    meeting: Meeting, mounts: list[BallastMount]
) -> None:
    # Marked to whole pounds, each piece adds its own doubt: six would do if they were exact.
    weights(meeting, "79.0", "71.0", "95.0", "70.5")
    for _ in range(9):
        piece(meeting, "1 lb")
    found = ballast(meeting, 0.01).plans[0].plan
    assert len(found.placed) == 8
    assert found.under <= 0.01


def test_where_pieces_do_not_reach_it_says_what_is_lacking(
    family: Client, meeting: Meeting
) -> None:
    weights(meeting, *LIGHT)
    piece(meeting, "2.0 lb")
    text = page(family, meeting)
    assert "The most your pieces give" in text
    assert "What is lacking: 3.3 lb more ballast." in text
    assert "Fit the 2.0 lb piece" in text
    assert "No mount has room" not in text


def test_what_is_lacking_may_be_more_than_one_piece_and_than_a_mount_holds(
    family: Client, meeting: Meeting
) -> None:
    piece(meeting, "20.0 lb")
    piece(meeting, "9.0 lb")
    text = page(family, meeting, **on_pads("70.0", "62.0", "80.0", "62.0"))
    assert "One piece may weigh 10.0 lb at most: more than one." in text
    assert "No mount has room for it: at most 25.0 lb more." in text
    assert "never hang on more than a mount holds" in text
    assert "27 20.0 lb is above the class's largest piece, 10.0 lb: it is left out here." in text


def test_without_any_piece_it_says_what_to_buy(family: Client, meeting: Meeting) -> None:
    weights(meeting, *LIGHT)
    text = page(family, meeting)
    assert "What is lacking: 5.3 lb more ballast." in text
    assert "The team has no ballast piece on the shelf" in text


def test_of_equal_pieces_those_marked_for_this_car_come_first(
    family: Client, meeting: Meeting
) -> None:
    weights(meeting, *LIGHT)
    for label in ("13", "27", "Wrens", "27 Robin"):
        piece(meeting, "2.7 lb", label)
    text = page(family, meeting)
    assert "piece marked 27 at" in text
    assert "piece marked 27 Robin at" in text
    assert "piece marked 13" not in text
    assert "piece marked Wrens" not in text


def test_a_piece_that_would_be_refused_is_to_be_marked(family: Client, meeting: Meeting) -> None:
    weights(meeting, *LIGHT)
    piece(meeting, "5.5 lb", "13")
    said = "13 5.5 lb: not the name or number of this car. Write the car's number and the weight"
    assert said in page(family, meeting)


def test_a_heavy_car_is_told_what_could_come_off(
    family: Client, meeting: Meeting, mounts: list[BallastMount]
) -> None:
    piece(meeting, "8.0 lb", car=meeting.car, mount=mounts[0])
    text = page(family, meeting, **on_pads("83.0", "73.0", "97.0", "77.0"))
    assert "Nothing to add" in text
    assert "What could come off" in text
    assert "Take the 8.0 lb piece marked 27 off Left rail" in text
    assert "Or leave what is fitted where it is" in text


def test_a_car_that_is_heavy_by_itself_is_told_so(family: Client, meeting: Meeting) -> None:
    piece(meeting, "1.0 lb")
    text = page(family, meeting, **on_pads("90.0", "75.0", "97.0", "77.0"))
    assert "heavier than it has to be, and no other piece could come off" in text
    assert "Your pieces can stay as they are" in text


def test_a_plan_that_breaks_another_rule_says_so(people: People, client: Client) -> None:
    meeting = make_meeting(people, [RULES[0], ("left_limit", {"at_most": "55.2"})])
    ready_for_ballast(meeting)
    piece(meeting, "20.0 lb")
    client.force_login(people.chief)
    text = page(client, meeting, **on_pads("74.0", "68.0", "92.0", "68.0"))
    then = text[text.index('aria-label="What the rules would say then"') :]
    assert "Left side at most 55.2% of the weight" in then[:400]


def test_one_sheet_leads_to_the_bench_where_the_pieces_are_noted(
    family: Client, meeting: Meeting
) -> None:
    weights(meeting, *LIGHT)
    for marked in ("3.0 lb", "2.5 lb", "8.0 lb"):
        piece(meeting, marked)
    link = re.search(r'href="(/sheets/[^"]+/ballast\?[^"]+)"', page(family, meeting))
    assert link
    bench = family.get(link[1]).content.decode()
    assert sorted(fitted(re.sub(r"</?b>", "", bench))) == [2.5, 3.0]
    assert "to be under" in bench


@pytest.mark.parametrize("given", [on_pads(*LIGHT), {"total": "316.0"}])
def test_readings_on_no_sheet_lead_to_one(
    family: Client, meeting: Meeting, given: dict[str, Any]
) -> None:
    weights(meeting, *LIGHT)
    piece(meeting, "5.5 lb")
    text = page(family, meeting, **given)
    assert fitted(text) == [5.5]
    assert "To note pieces as fitted, write these weights on" in text
    assert "/ballast?" not in text


def test_where_nothing_is_to_be_done_nothing_is_to_be_noted(
    family: Client, meeting: Meeting
) -> None:
    weights(meeting, "82.0", "72.0", "96.0", "72.0")
    piece(meeting, "1.0 lb")
    text = page(family, meeting)
    assert "Nothing to add, move or take off." in text
    assert "/ballast?" not in text
    assert "note it as fitted" not in text


def test_a_chassis_without_mounts_says_what_a_steward_can_add(
    people: People, client: Client
) -> None:
    meeting = make_meeting(people)
    client.force_login(people.chief)
    text = page(client, meeting, **on_pads(*LIGHT))
    assert "No mount is known on the Wisp; a steward can add it." in text
    assert "has no geometry yet" in text
