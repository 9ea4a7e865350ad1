"""The guarded verdict and the chance beside it, as the desk, the family and the API read them."""

from typing import Any

import pytest
from django.test import Client

from clubsetup.access.viewer import viewing_as
from events.actions.voiding import void_weigh_in
from events.models import Finding, WeighIn
from events.queries.scales import HOLDS
from events.queries.scatter import scatter_before
from events.queries.weighings import weighed
from tests.events.desk.test_scale_checks import check
from tests.events.meeting import RULES, Meeting, make_meeting
from tests.events.test_ballast_checks import look
from tests.people import People

POUND = 0.45359237
ORDER = ["meets", "too_close", "fails"]


@pytest.fixture
def guarded(people: People) -> Meeting:
    """Guarded rules, on scales that passed their check."""
    meeting = make_meeting(people, RULES[:1], decision="guarded")
    check(meeting)
    return meeting


def page(client: Client, meeting: Meeting) -> str:
    client.force_login(meeting.people.official)
    return client.get(f"/entries/{meeting.entry.pk}/").content.decode()


def told(client: Client, meeting: Meeting, where: str = "/api/v1/findings") -> dict[str, Any]:
    """The newest finding as the API has it."""
    client.force_login(meeting.people.official)
    rows: list[dict[str, Any]] = client.get(where).json()["results"]
    return max(rows, key=lambda row: row["batch"])


def test_too_close_is_said_so_that_it_can_be_true(client: Client, guarded: Meeting) -> None:
    guarded.weigh("320.2")
    text = page(client, guarded)
    assert "closer than the 0.23 lb it must clear it by" in text
    assert "closer than the 0.2 lb" not in text
    assert "chance that it meets: 95.8%" in text
    # The figure over the sentence does not say ± 0.2 lb of a car that is 0.2 lb over either.
    assert "± 0.23 lb" in text


def test_the_mean_of_two_has_the_verdict_of_its_chance(client: Client, guarded: Meeting) -> None:
    """0.2 and 0.4 lb over: not 89.8 % by one degree of freedom and 'meets' all the same."""
    guarded.weigh("320.2")
    guarded.weigh("320.4", again=True)
    found = told(client, guarded)
    assert found["outcome"] == "meets"
    assert found["evidence"]["probability"] >= 0.977
    assert found["evidence"]["dof"] == pytest.approx(5)
    assert "chance that it meets: 99.1%" in page(client, guarded)


@pytest.mark.parametrize("first", ["320", "320.1", "320.2", "320.3", "320.4", "321"])
@pytest.mark.parametrize("between", [[], ["318", "319.4", "320.6"]])
def test_a_second_weighing_that_reads_the_same_is_never_worse(
    client: Client, guarded: Meeting, first: str, between: list[str]
) -> None:
    """Not even where another car scattered by a pound on those scales meanwhile."""
    guarded.weigh(first)
    one = guarded.outcomes()["minimum_weight"]
    for number, total in enumerate(between):
        guarded.weigh(total, entry=guarded.rival_entry, again=number > 0)
    guarded.weigh(first, again=True)
    two = guarded.outcomes()["minimum_weight"]
    assert ORDER.index(two) <= ORDER.index(one)


def scattered(meeting: Meeting, *totals: str) -> None:
    """The other car, rolled off and on again and again."""
    for number, total in enumerate(totals):
        meeting.weigh(total, entry=meeting.rival_entry, again=number > 0)


def test_the_days_repeats_on_those_scales_count(guarded: Meeting) -> None:
    scattered(guarded, "320", "321", "320", "321")
    guarded.weigh("320.4")
    evidence = guarded.standing()["minimum_weight"].evidence
    # sqrt((4 * 0.2^2 / 3 + 1) / (4 + 3)) lb: prior and the other car's four.
    assert evidence["u"] == pytest.approx(((0.16 / 3 + 1) / 7) ** 0.5 * POUND, rel=1e-5)
    assert evidence["dof"] == pytest.approx(7)
    assert guarded.outcomes()["minimum_weight"] == "too_close"
    guarded.weigh("145.3 kg", scale_set=guarded.platform)
    evidence = guarded.standing()["minimum_weight"].evidence
    assert evidence["u"] == pytest.approx(0.1 / 12**0.5, abs=1e-6)


def test_voided_and_changed_cars_are_no_repeats(guarded: Meeting) -> None:
    official = guarded.people.official
    guarded.weigh("318", entry=guarded.rival_entry)
    guarded.weigh("325", entry=guarded.rival_entry)
    wrong = guarded.weigh("330", entry=guarded.rival_entry, again=True)
    with viewing_as(official.pk):
        void_weigh_in(by=official, weigh_in=wrong, reason="Another car")
    weigh_in = guarded.weigh("320.4")
    assert weigh_in.scatter == weigh_in.u_total
    assert weigh_in.scatter_dof == 4


def test_repeats_of_an_earlier_day_do_not_count(guarded: Meeting) -> None:
    scattered(guarded, "320", "321")
    with viewing_as(guarded.people.official.pk):
        first = WeighIn.objects.earliest("created_at")
        given = (guarded.event, guarded.scales, first.u_total)
        assert scatter_before(*given)["scatter_dof"] == 5
        later = first.created_at + HOLDS
        assert scatter_before(*given, at=later)["scatter_dof"] == 4
        assert scatter_before(*given, at=later)["scatter"] == first.u_total


def test_what_was_found_keeps_its_figures(guarded: Meeting) -> None:
    guarded.weigh("320.4")
    before = guarded.standing()["minimum_weight"]
    scattered(guarded, "320", "322", "320", "322")
    with viewing_as(guarded.people.official.pk):
        kept = Finding.objects.get(pk=before.pk)
    assert (kept.outcome, kept.evidence, kept.sentence) == (
        before.outcome,
        before.evidence,
        before.sentence,
    )
    # Nor does a look at the ballast afterwards weigh the car anew.
    look(guarded)
    again = guarded.standing()["minimum_weight"]
    assert again.pk != before.pk
    assert (again.outcome, again.sentence) == (before.outcome, before.sentence)


def test_a_weigh_in_kept_before_scatter_was_has_the_prior(guarded: Meeting) -> None:
    both = [guarded.weigh("320.2"), guarded.weigh("320.4", again=True)]
    for weigh_in in both:
        weigh_in.scatter = weigh_in.scatter_dof = None
    with viewing_as(guarded.people.official.pk):
        (found,) = weighed(both)
    assert found.total.u == pytest.approx(guarded.standing()["minimum_weight"].evidence["u"])


def test_the_reading_decides_and_its_chance_stands_beside(client: Client, people: People) -> None:
    meeting = make_meeting(people, RULES[:1])
    check(meeting)
    meeting.weigh("320.2")
    assert meeting.outcomes()["minimum_weight"] == "meets"
    text = page(client, meeting)
    assert "320.2 lb is 0.2 lb over the least allowed, 320 lb. Good to" in text
    assert "chance that it meets: 95.8%" in text


def test_unchecked_scales_give_a_verdict_and_no_chance(client: Client, people: People) -> None:
    meeting = make_meeting(people, RULES[:1], decision="guarded")
    meeting.weigh("320.2")
    text = page(client, meeting)
    assert "closer than the 0.23 lb it must clear it by" in text
    assert "At least ±0.23 lb from the display alone; scales not checked that day" in text
    assert "chance that it meets" not in text
    meeting.weigh("320.2", again=True)
    assert meeting.outcomes()["minimum_weight"] == "meets"


def test_the_rules_page_says_how_it_decides(client: Client, guarded: Meeting) -> None:
    client.force_login(guarded.people.steward)
    text = client.get(f"/rule-sets/{guarded.rule_set.pk}/").content.decode()
    assert "meets from a chance of 97.7%" in text
    assert "fails up to 2.3%" in text
    assert "twice its uncertainty" not in text
