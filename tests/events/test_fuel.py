"""A minimum for the car with fuel or without, and the weighings that it speaks of."""

import pytest
from django.test import Client

from clubsetup.access.errors import Invalid
from clubsetup.access.viewer import viewing_as
from events.records.queries.records import records_of
from tests.events.meeting import RULES, Meeting, make_meeting
from tests.people import People

DRY = ("minimum_weight", {"minimum": "143.78878129", "fuel": "tank_empty"})  # 317 lb


@pytest.fixture
def dry(people: People) -> Meeting:
    return make_meeting(people, [DRY])


def test_only_a_weighing_with_the_tank_empty_counts(dry: Meeting) -> None:
    dry.weigh("330")
    finding = dry.standing()["minimum_weight"]
    assert finding.outcome == "not_checked"
    assert finding.sentence == "Not weighed with the tank empty yet."
    dry.weigh("316", tank_empty=True)
    finding = dry.standing()["minimum_weight"]
    assert finding.outcome == "fails"
    assert finding.evidence["tank_empty"] is True


def test_with_fuel_and_without_are_two_states_of_the_car(dry: Meeting) -> None:
    dry.weigh("330")
    with pytest.raises(Invalid) as refusal:
        dry.weigh("318", tank_empty=True, again=True)
    assert refusal.value.field == "again"
    dry.weigh("318", tank_empty=True)
    dry.weigh("331")
    assert dry.outcomes()["minimum_weight"] == "meets"


def test_the_driver_is_the_difference_of_two_weighings_alike(people: People) -> None:
    band = ("driver_weight_band", {"at_most": "45.359237"})
    meeting = make_meeting(people, [band])
    meeting.weigh("320")
    meeting.weigh("200", driver_in=False, tank_empty=True)
    assert meeting.outcomes()["driver_weight_band"] == "not_checked"
    meeting.weigh("225", driver_in=False)
    assert meeting.outcomes()["driver_weight_band"] == "meets"


@pytest.mark.parametrize(("rules", "asked"), [([DRY], True), (RULES, False)])
def test_the_desk_asks_for_the_tank_only_where_a_rule_does(
    client: Client, people: People, rules: list[tuple[str, dict[str, str]]], asked: bool
) -> None:
    meeting = make_meeting(people, rules)
    client.force_login(people.official)
    text = client.get(f"/entries/{meeting.entry.pk}/").content.decode()
    assert ("Tank empty" in text) == asked


def test_an_old_line_of_the_records_is_as_it_was(dry: Meeting) -> None:
    """What is 'no' stays out of the chain, so that the column alters no line before it."""
    dry.weigh("330")
    dry.weigh("318", tank_empty=True)
    with viewing_as(dry.people.official.pk):
        lines = [one.record for one in records_of(dry.event).links]
    weighed = [line for line in lines if line["kind"] == "weigh_in"]
    assert [line.get("tank_empty") for line in weighed] == [None, True]
