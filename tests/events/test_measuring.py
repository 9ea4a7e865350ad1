"""Lengths that officials measure, and the rules that ask for them."""

import math
from typing import Any

import pytest
from django.test import Client

from cars.models import Measure
from clubsetup.access.errors import Invalid, NotAllowed, WrongState
from clubsetup.access.ids import new_id
from clubsetup.access.models import User
from clubsetup.access.viewer import viewing_as
from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.reading import parse
from events.actions.entries import withdraw_entry
from events.actions.measuring import measure_car
from events.actions.voiding import void_tech_reading
from events.models import TechReading
from events.queries.readings import asked_for
from tests.events.meeting import Meeting, make_meeting
from tests.people import People

INCH = 25.4
ASKS: list[tuple[str, dict[str, Any]]] = [
    ("length_limit", {"measure": "wheelbase", "at_least": "1143"}),  # 45 in
    ("required_reading", {"measure": "ride-height", "spot": "LF"}),
]


@pytest.fixture
def asking(people: People) -> Meeting:
    return make_meeting(people, ASKS)


def measured(
    meeting: Meeting,
    text: str,
    *,
    slug: str = "wheelbase",
    spot: str = "left",
    by: User | None = None,
    **more: Any,
) -> TechReading:
    """The official measures the Wrens' car, inches without a unit."""
    by = by or meeting.people.official
    with viewing_as(by.pk):
        return measure_car(
            by=by,
            entry=meeting.entry,
            measure=Measure.objects.get(pk=slug),
            spot=spot,
            length=parse(text, Kind.LENGTH),
            **more,
        )


def test_a_length_is_judged_with_its_tools_uncertainty(asking: Meeting) -> None:
    reading = measured(asking, "46 5/16")
    other = measured(asking, "46 3/8", spot="right")
    found = asking.standing()["length_limit"]
    assert found.outcome == "meets"
    assert found.evidence["value"] == pytest.approx(46.3125 * INCH)
    assert found.evidence["tech_readings"] == [str(reading.pk), str(other.pk)]
    with viewing_as(asking.people.official.pk):
        tool = Measure.objects.get(pk="wheelbase").tool_resolution
    assert tool is not None
    assert found.evidence["u"] == pytest.approx(float(tool) / math.sqrt(12))


def test_every_spot_must_meet_it(asking: Meeting) -> None:
    measured(asking, "46")
    measured(asking, "44 15/16", spot="right")
    assert asking.outcomes()["length_limit"] == "fails"


def test_one_side_of_two_is_not_checked(client: Client, asking: Meeting) -> None:
    measured(asking, "46")
    assert asking.outcomes()["length_limit"] == "not_checked"
    for name in ("official", "chief"):
        client.force_login(getattr(asking.people, name))
        text = client.get(f"/entries/{asking.entry.pk}/").content.decode()
        assert "1 of 2 measured; right not yet." in text
    measured(asking, "46", spot="right")
    assert asking.outcomes()["length_limit"] == "meets"


def test_a_later_length_takes_the_place_of_the_earlier(asking: Meeting) -> None:
    measured(asking, "46", spot="right")
    measured(asking, "44")
    assert asking.outcomes()["length_limit"] == "fails"
    measured(asking, "45")
    assert asking.outcomes()["length_limit"] == "meets"


def test_a_void_length_counts_no_longer(asking: Meeting) -> None:
    official = asking.people.official
    measured(asking, "46")
    measured(asking, "46", spot="right")
    wrong = measured(asking, "44")
    with viewing_as(official.pk):
        void_tech_reading(by=official, tech_reading=wrong, reason="The tape was twisted")
        with pytest.raises(WrongState):
            void_tech_reading(by=official, tech_reading=wrong, reason="Again")
    assert asking.outcomes()["length_limit"] == "meets"


def test_a_required_reading_is_missing_until_it_is_taken(asking: Meeting) -> None:
    asking.weigh("321")
    assert asking.outcomes()["required_reading"] == "not_checked"
    measured(asking, "46")
    assert asking.outcomes()["required_reading"] == "fails"
    measured(asking, "2 1/4", slug="ride-height", spot="LF")
    assert asking.outcomes()["required_reading"] == "meets"


def test_the_desk_asks_for_what_the_rules_ask(asking: Meeting, people: People) -> None:
    with viewing_as(people.official.pk):
        asked = [(m.pk, spot) for m, spot in asked_for(asking.rule_set)]
    assert asked == [("wheelbase", "left"), ("wheelbase", "right"), ("ride-height", "LF")]


@pytest.mark.parametrize(
    ("changed", "text", "field"),
    [
        ({"slug": "caster", "spot": "left"}, "46", "measure"),
        ({"spot": "LF"}, "46", "spot"),
        ({}, "0", "length"),
    ],
)
def test_what_is_no_length_of_the_car_is_refused(
    asking: Meeting, changed: dict[str, Any], text: str, field: str
) -> None:
    with pytest.raises(Invalid) as refusal:
        measured(asking, text, **changed)
    assert refusal.value.field == field


def test_a_withdrawn_car_is_not_measured(asking: Meeting) -> None:
    chief = asking.people.chief
    with viewing_as(chief.pk):
        withdraw_entry(by=chief, entry=asking.entry)
    with pytest.raises(WrongState):
        measured(asking, "46")


@pytest.mark.parametrize("name", ["chief", "guest", "coach", "steward", "rival"])
def test_nobody_but_an_official_measures(asking: Meeting, name: str) -> None:
    with pytest.raises(NotAllowed):
        measured(asking, "46", by=getattr(asking.people, name))


def test_measuring_from_the_page(client: Client, asking: Meeting) -> None:
    client.force_login(asking.people.official)
    where, sent = f"/entries/{asking.entry.pk}/measure", str(new_id())
    assert "Ride height, LF" in client.get(where).content.decode()
    form = {"row_id": sent, "at": "wheelbase.left", "length": "46-5/16"}
    for _ in range(2):
        assert client.post(where, form).status_code == 302
    with viewing_as(asking.people.official.pk):
        assert TechReading.objects.get().typed == "46-5/16"
    text = client.get(f"/entries/{asking.entry.pk}/").content.decode()
    assert "46-5/16" in text
    client.force_login(asking.people.chief)
    assert "46-5/16" in client.get(f"/entries/{asking.entry.pk}/").content.decode()


@pytest.mark.parametrize("sent", [{"at": "wheelbase.left", "length": "long"}, {"length": "46"}])
def test_what_is_missing_is_said(client: Client, asking: Meeting, sent: dict[str, str]) -> None:
    client.force_login(asking.people.official)
    page = client.post(f"/entries/{asking.entry.pk}/measure", {"row_id": str(new_id()), **sent})
    assert page.status_code == 200
    assert "errorlist" in page.content.decode()
    assert asking.outcomes() == {}
