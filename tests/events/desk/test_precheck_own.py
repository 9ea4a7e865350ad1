"""The pre-check with readings of one's own: pads, a total, without the driver, and what is off."""

from decimal import Decimal
from statistics import NormalDist

import pytest
from django.test import Client
from hypothesis import given, settings
from hypothesis import strategies as st

from cars.models import Reading, Sheet
from cars.sheets.actions.set_sheet import note_change
from clubsetup.access.models import TrailLine
from clubsetup.access.viewer import viewing_as
from tests.events.desk.own_weights import on_pads, page, weights
from tests.events.meeting import RULES, Meeting, make_meeting
from tests.examples import examples
from tests.people import People

SAID = "Add 1.5 lb before the race: 2.1 % risk of light after 20 laps."
HEAVY = ("85.0", "75.0", "96.0", "75.0")
LIGHT = ("80.0", "72.0", "96.0", "71.8")


@pytest.fixture
def family(client: Client, meeting: Meeting) -> Client:
    client.force_login(meeting.people.chief)
    return client


def test_four_pads_say_what_a_sheet_with_them_would(family: Client, meeting: Meeting) -> None:
    written = page(family, meeting, **on_pads(*LIGHT))
    assert SAID in written
    weights(meeting, *LIGHT)
    assert SAID in page(family, meeting)


def test_what_is_written_goes_before_the_sheet(family: Client, meeting: Meeting) -> None:
    weights(meeting, *HEAVY)
    assert "Nothing to add" in page(family, meeting)
    text = page(family, meeting, **on_pads(*LIGHT))
    assert SAID in text
    assert "it is not kept" in text


def test_nothing_of_it_is_kept(family: Client, meeting: Meeting) -> None:
    with viewing_as(meeting.people.chief.pk):
        before = TrailLine.objects.count()
    page(family, meeting, **on_pads(*LIGHT))
    page(family, meeting, total="320")
    with viewing_as(meeting.people.chief.pk):
        assert not Sheet.objects.exists()
        assert not Reading.objects.exists()
        assert TrailLine.objects.count() == before


def test_weights_of_today_count_though_those_of_the_sheet_are_stale(
    family: Client, meeting: Meeting
) -> None:
    sheet, by = weights(meeting, *HEAVY), meeting.people.chief
    with viewing_as(by.pk):
        note_change(
            by=by, sheet=sheet, adjuster="upper-rod", spot="LR", amount=Decimal(2), unit="flat"
        )
    assert "No sheet of this car has four weights that still hold" in page(family, meeting)
    assert SAID in page(family, meeting, **on_pads(*LIGHT))


def test_a_total_alone_tells_no_shares(family: Client, meeting: Meeting) -> None:
    weights(meeting, *HEAVY)
    text = page(family, meeting, total="319.8")
    assert "lb before the race" in text
    assert "Not weighed on four pads yet, so left is not known." in text


@pytest.mark.parametrize(("written", "step", "add"), [("320", 1.0, 1.5), ("320.0", 0.1, 1.3)])
def test_a_coarser_total_asks_for_more(
    family: Client, meeting: Meeting, written: str, step: float, add: float
) -> None:
    # By hand, lb: W = 320 - 20 x 0.03; u^2 = step^2/12 + (0.6 x 0.3)^2 + 0.5^2/3.
    weight = NormalDist(319.4, (step**2 / 12 + 0.18**2 + 0.25 / 3) ** 0.5)
    assert add - 0.1 < 320 - weight.inv_cdf(0.03) <= add
    risk = NormalDist(319.4 + add, weight.stdev).cdf(320)
    said = f"Add {add} lb before the race: {100 * risk:.1f} % risk of light after 20 laps."
    assert said in page(family, meeting, total=written)


def test_without_the_driver_the_minimum_for_the_car_alone(people: People, client: Client) -> None:
    alone = ("minimum_weight", {"minimum": "113.3980925", "with_driver": False})  # 250 lb
    meeting = make_meeting(people, [*RULES, alone])
    client.force_login(people.chief)
    text = page(client, meeting, total="251.0", driver_in="no", laps="0")
    assert "At least 250 lb without the driver" in text
    assert "Nothing to add: " in text
    assert "risk of light before the race." in text
    assert "this rule is for the car with" in text
    assert "Your pieces" not in text


def test_no_rule_without_the_driver_is_said(family: Client, meeting: Meeting) -> None:
    text = page(family, meeting, total="251", driver_in="no")
    assert "No rule of this class asks for a weight without the driver." in text


def test_a_minimum_with_the_tank_empty_is_checked_only_where_it_is(
    people: People, client: Client
) -> None:
    empty = ("minimum_weight", {"minimum": "145.1495584", "fuel": "tank_empty"})
    meeting = make_meeting(people, [empty, *RULES[1:]])
    client.force_login(people.chief)
    assert "No rule of this class asks for a weight with the driver." in page(
        client, meeting, total="321.0"
    )
    assert "Not weighed with the tank empty yet." in page(client, meeting, total="321.0", fuel="1")
    assert "321 lb is 1 lb over the least" in page(client, meeting, total="321.0", fuel="0")


def test_more_fuel_burnt_than_there_is_is_pointed_at(family: Client, meeting: Meeting) -> None:
    odd = page(family, meeting, total="322.0", fuel="0.1 gal", laps="100")
    assert "100 laps burn more fuel than the 0.1 gal in it and what is put in" in odd
    assert "burn more fuel" not in page(family, meeting, total="322.0", fuel="1 gal", laps="20")
    assert "burn more fuel" not in page(family, meeting, total="322.0", laps="100")


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ({"LF": "80"}, "Write all four pads, or none and the total."),
        ({**on_pads(*LIGHT), "total": "320"}, "Give the four pads or a total, not both."),
        ({"driver_in": "no"}, "Write what your scales said without the driver."),
        ({**on_pads(*LIGHT), "RF": "abc"}, "abc is not a number"),
        ({**on_pads(*LIGHT), "RR": "90000 lb"}, "cannot be right"),
        ({"total": "5 lb"}, "what a whole car weighs is between 50 lb and 4000 lb"),
        ({"total": "320 lb", "fuel": "-1 gal"}, "the fuel in it is between 0 gal and 10 gal"),
        ({"total": "320 lb", "filled": "-1 lb"}, "the fuel put in is between 0 lb and 60 lb"),
        ({"total": "320 lb", "scales_apart": "60 lb"}, "how far scales differ is between"),
        ({"total": "320 lb", "burn": ""}, "Fill in “Fuel burnt a lap”: it is needed."),
        ({"total": "320 lb", "laps": "501"}, "“Laps” is never more than 500"),
        (
            {"total": "320 lb", "driver_in": "perhaps"},
            "What was sent for “Driver” is not among its choices",
        ),
    ],
)
def test_what_does_not_go_is_said_and_stays_in_its_box(
    family: Client, meeting: Meeting, given: dict[str, str], said: str
) -> None:
    text = page(family, meeting, **given)
    assert "Something below cannot be worked with" in text
    assert said in text
    assert "risk of light after" not in text
    for name, typed in given.items():
        if typed and name != "driver_in":
            assert f'name="{name}" value="{typed}"' in text


WRITTEN = st.dictionaries(
    st.sampled_from(
        [
            *("LF", "RF", "LR", "RR", "total", "driver_in", "fuel", "laps", "burn", "burn_known"),
            *("filled", "scales_apart", "risk", "of_no_meaning"),
        ]
    ),
    st.sampled_from(["0", "-1", "1e9", "320", "80", "1/0", "yes", "no", "½", "9 kg", "nan", ""])
    | st.text(st.characters(exclude_categories=["Cs"]), max_size=8),
    max_size=8,
)


def test_whatever_is_sent_the_page_answers(family: Client, meeting: Meeting) -> None:
    weights(meeting, *LIGHT)

    @settings(max_examples=examples(30), deadline=None, derandomize=True)
    @given(WRITTEN)
    def ask(sent: dict[str, str]) -> None:
        text = page(family, meeting, **sent)
        assert ("Something below cannot" in text) is ("risk of light is" not in text)

    ask()
