"""A weight from scales that no passed check stands behind is told without a chance."""

import pytest
from django.test import Client

from tests.events.desk.test_scale_checks import check
from tests.events.meeting import Meeting, pads

UNCHECKED = "At least ±0.2 lb from the display alone; scales not checked that day: no chance"


def test_scales_nobody_checked_give_no_chance(meeting: Meeting) -> None:
    meeting.weigh("321.4")
    finding = meeting.standing()["minimum_weight"]
    assert finding.outcome == "meets"
    assert UNCHECKED in finding.sentence
    assert "Good to" not in finding.sentence
    assert "chance that it meets" not in finding.sentence
    assert "probability" not in finding.evidence
    assert finding.evidence["u"] > 0
    assert finding.evidence["scales"] == "unchecked"


def test_scales_that_failed_their_check_give_none_either(meeting: Meeting) -> None:
    check(meeting, {"RR": "52"})
    meeting.weigh("321.4")
    finding = meeting.standing()["minimum_weight"]
    assert "scales failed their check that day: no chance is given." in finding.sentence
    assert "probability" not in finding.evidence
    assert finding.evidence["scales"] == "failed"


def test_checked_scales_give_the_chance(meeting: Meeting) -> None:
    check(meeting)
    meeting.weigh("321.4")
    finding = meeting.standing()["minimum_weight"]
    assert "Good to ±0.2 lb; chance that it meets: over 99.9%." in finding.sentence
    assert finding.evidence["probability"] > 0.999
    assert finding.evidence["scales"] == "passed"


def test_one_unchecked_weighing_among_several_is_enough(meeting: Meeting) -> None:
    meeting.weigh("321.4")
    check(meeting)
    meeting.weigh("321.2", again=True)
    assert meeting.standing()["minimum_weight"].evidence["scales"] == "unchecked"


def test_the_shares_are_told_so_too(meeting: Meeting) -> None:
    meeting.weigh(pads=pads("95.2", "72", "96.4", "70"))
    left = meeting.standing()["left_limit"]
    assert "scales not checked that day: no chance is given." in left.sentence
    assert "probability" not in left.evidence


@pytest.mark.parametrize("name", ["official", "chief"])
def test_the_entrys_page_says_so(client: Client, meeting: Meeting, name: str) -> None:
    meeting.weigh("321.4")
    client.force_login(getattr(meeting.people, name))
    text = client.get(f"/entries/{meeting.entry.pk}/").content.decode()
    assert UNCHECKED in text
    assert "at least ± 0.2" in text
    assert "chance that it meets" not in text


def test_the_familys_results_say_so(client: Client, meeting: Meeting) -> None:
    meeting.weigh("321.4")
    client.force_login(meeting.people.chief)
    text = client.get(f"/teams/{meeting.people.team.pk}/results").content.decode()
    assert UNCHECKED in text
    assert "chance that it meets" not in text
