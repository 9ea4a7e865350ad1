"""Weigh-ins and what is found on them."""

import math
from decimal import Decimal
from typing import Any

import pytest

from clubsetup.access.errors import Invalid, NotAllowed, WrongState
from clubsetup.access.viewer import viewing_as
from events.actions.events import end_event
from events.actions.voiding import void_weigh_in
from events.models import Entry
from tests.events.meeting import Meeting, mass, pads


def test_a_total_over_the_minimum_meets_and_says_by_how_much(meeting: Meeting) -> None:
    weigh_in = meeting.weigh("321.4")
    finding = meeting.standing()["minimum_weight"]
    assert finding.outcome == "meets"
    assert finding.weigh_in_id == weigh_in.pk
    assert finding.rule_words == "At least 320 lb with the driver, fuel as it comes"
    assert finding.sentence.startswith("321.4 lb is 1.4 lb over the least allowed, 320 lb.")
    evidence = finding.evidence
    assert evidence["value"] == pytest.approx(321.4 * 0.45359237)
    assert evidence["limit"] == pytest.approx(145.1495584)
    assert evidence["margin"] == pytest.approx(1.4 * 0.45359237)
    assert evidence["scales"] == "unchecked"
    assert evidence["weigh_ins"] == [str(weigh_in.pk)]
    assert evidence["decision"] == "reading"


def test_the_uncertainty_is_that_of_four_pads_divisions(meeting: Meeting) -> None:
    # u = sqrt(4) d / sqrt(12) with d = 0.2 lb; JCGM 100:2008, F.2.2.1 and 5.1.2.
    meeting.weigh("320")
    expected = 2 * 0.2 * 0.45359237 / math.sqrt(12)
    assert meeting.standing()["minimum_weight"].evidence["u"] == pytest.approx(expected, abs=1e-6)


def test_a_platform_has_the_uncertainty_of_one(meeting: Meeting) -> None:
    weigh_in = meeting.weigh("146 kg", scale_set=meeting.platform)
    assert float(weigh_in.u_total) == pytest.approx(0.1 / math.sqrt(12), abs=1e-6)


def test_on_the_limit_meets_and_a_tenth_under_fails(meeting: Meeting) -> None:
    meeting.weigh("320")
    assert meeting.outcomes()["minimum_weight"] == "meets"
    meeting.weigh("319.9")
    assert meeting.outcomes()["minimum_weight"] == "fails"


def test_four_pads_give_the_shares_too(meeting: Meeting) -> None:
    weigh_in = meeting.weigh(pads=pads("95.2", "72", "96.4", "70"))
    assert weigh_in.total == Decimal("333.6") * Decimal("0.45359237")
    assert weigh_in.typed == {"LF": "95.2", "RF": "72", "LR": "96.4", "RR": "70"}
    left = meeting.standing()["left_limit"]
    assert left.outcome == "meets"
    assert left.evidence["value"] == pytest.approx(100 * (95.2 + 96.4) / 333.6)


def test_a_total_says_nothing_of_the_left(meeting: Meeting) -> None:
    meeting.weigh("333")
    assert meeting.outcomes()["left_limit"] == "not_checked"


def test_what_was_typed_is_kept(meeting: Meeting) -> None:
    weigh_in = meeting.weigh("146 kg")
    assert weigh_in.typed == {"car": "146 kg"}
    assert weigh_in.total == 146


def test_a_later_weigh_in_takes_the_place_of_the_earlier(meeting: Meeting) -> None:
    meeting.weigh("318")
    later = meeting.weigh("321")
    finding = meeting.standing()["minimum_weight"]
    assert finding.outcome == "meets"
    assert finding.evidence["weigh_ins"] == [str(later.pk)]


def test_weighed_again_unchanged_counts_as_the_mean(meeting: Meeting) -> None:
    first = meeting.weigh("319.8")
    second = meeting.weigh("320.4", again=True)
    evidence = meeting.standing()["minimum_weight"].evidence
    assert evidence["value"] == pytest.approx(320.1 * 0.45359237)
    assert evidence["weigh_ins"] == [str(first.pk), str(second.pk)]
    # The scatter, 0.6 lb apart, says more than the divisions; pooled with the prior it is
    # sqrt((4 * 0.2^2 / 3 + 0.6^2 / 2) / 5) of one weighing (JCGM 100:2008, 4.2.4).
    pooled = ((4 * 0.04 / 3 + 0.18) / 5) ** 0.5
    assert evidence["u"] == pytest.approx(pooled / 2**0.5 * 0.45359237, rel=1e-5)
    assert evidence["dof"] == pytest.approx(5)


def test_agreeing_weighings_have_the_divisions_uncertainty_over_root_two(meeting: Meeting) -> None:
    single = float(meeting.weigh("320.2").u_total)
    meeting.weigh("320.2", again=True)
    u = meeting.standing()["minimum_weight"].evidence["u"]
    assert u == pytest.approx(single / math.sqrt(2))


def test_again_needs_something_to_count_with(meeting: Meeting) -> None:
    with pytest.raises(Invalid) as refusal:
        meeting.weigh("320", again=True)
    assert refusal.value.field == "again"


def test_a_weigh_in_after_the_race_is_judged_beside_the_one_before(meeting: Meeting) -> None:
    meeting.weigh("321")
    meeting.weigh("319", stage="after")
    finding = meeting.standing()["minimum_weight"]
    assert finding.outcome == "fails"
    assert finding.evidence["stage"] == "after"


def test_without_the_driver_the_rule_is_not_checked(meeting: Meeting) -> None:
    meeting.weigh("250", driver_in=False)
    assert meeting.outcomes()["minimum_weight"] == "not_checked"
    meeting.weigh("321")
    assert meeting.outcomes()["minimum_weight"] == "meets"


@pytest.mark.parametrize(
    ("given", "field"),
    [
        ({"pads": {"LF": mass("80")}}, "RF"),
        ({"pads": pads("80", "80", "80", "-1")}, "RR"),
        ({"total": "3 lb"}, "total"),
        ({"total": "32000"}, "total"),
        ({"total": None}, "total"),
        ({"stage": "later"}, "stage"),
    ],
)
def test_what_is_no_weighing_is_refused(
    meeting: Meeting, given: dict[str, Any], field: str
) -> None:
    with pytest.raises(Invalid) as refusal:
        meeting.weigh(**given)
    assert refusal.value.field == field
    assert meeting.outcomes() == {}


def test_pads_do_not_come_from_a_platform(meeting: Meeting) -> None:
    with pytest.raises(Invalid) as refusal:
        meeting.weigh(pads=pads("80", "80", "80", "80"), scale_set=meeting.platform)
    assert refusal.value.field == "scale_set"


def test_a_void_strikes_the_weigh_in_and_finds_on_what_is_left(meeting: Meeting) -> None:
    official = meeting.people.official
    meeting.weigh("318")
    wrong = meeting.weigh("325")
    with viewing_as(official.pk):
        void_weigh_in(by=official, weigh_in=wrong, reason="Another car's weight")
    assert meeting.outcomes()["minimum_weight"] == "fails"
    with viewing_as(official.pk), pytest.raises(WrongState):
        void_weigh_in(by=official, weigh_in=wrong, reason="Again")


def test_a_void_of_the_only_weigh_in_leaves_nothing_checked(meeting: Meeting) -> None:
    official = meeting.people.official
    only = meeting.weigh("325")
    with viewing_as(official.pk):
        void_weigh_in(by=official, weigh_in=only, reason="The pads were not level")
    assert set(meeting.outcomes().values()) == {"not_checked"}
    assert meeting.standing()["minimum_weight"].weigh_in is None


def test_a_void_says_why(meeting: Meeting) -> None:
    official, only = meeting.people.official, meeting.weigh("325")
    with viewing_as(official.pk), pytest.raises(Invalid):
        void_weigh_in(by=official, weigh_in=only, reason="  ")


def test_only_while_the_event_is_under_way(meeting: Meeting) -> None:
    steward = meeting.people.steward
    with viewing_as(steward.pk):
        meeting.entry.event = end_event(by=steward, event=meeting.event)
    with pytest.raises(WrongState):
        meeting.weigh("321")


@pytest.mark.parametrize(
    "name", ["steward", "chief", "crew", "guest", "coach", "unlinked_coach", "rival"]
)
def test_nobody_but_an_official_of_the_club_weighs(meeting: Meeting, name: str) -> None:
    with pytest.raises(NotAllowed):
        meeting.weigh("321", by=getattr(meeting.people, name))


@pytest.mark.parametrize("name", ["other_official", "other_steward", "stranger"])
def test_for_another_clubs_official_and_a_stranger_there_is_no_entry(
    meeting: Meeting, name: str
) -> None:
    with viewing_as(getattr(meeting.people, name).pk):
        assert not Entry.objects.exists()
