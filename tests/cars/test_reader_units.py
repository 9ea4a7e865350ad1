"""Amounts are told in the reader's units, rounded as they are known."""

from decimal import Decimal

import pytest
from django.test import Client

from cars.figures.formatting import format_amount
from cars.figures.prediction_format import format_spread
from cars.models import Sheet
from cars.sheets.actions.set_sheet import note_change
from clubsetup.access.viewer import viewing_as
from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.units import Units
from tests.cars.garage import Garage
from tests.people import People

POUNDS, KILOGRAMS = Units.imperial(), Units.metric()


@pytest.mark.parametrize(
    ("amount", "unit", "units", "said"),
    [
        ("1.3608", "kg", POUNDS, "+3 lb"),
        ("-2.0412", "kg", POUNDS, "−4.5 lb"),
        ("1.3608", "kg", KILOGRAMS, "+1.36 kg"),
        ("3", "lb", KILOGRAMS, "+1.36 kg"),
        ("0.5", "turn", POUNDS, "+1/2 turn"),
        ("0.3333", "turn", KILOGRAMS, "+1/3 turn"),
        ("-1.25", "turn", POUNDS, "−1 1/4 turns"),
        ("0.0313", "in", POUNDS, "+1/32 in"),
        ("0.5", "mm", POUNDS, "+0.020 in"),
        ("0.125", "in", KILOGRAMS, "+3.2 mm"),
        ("2", "psi", POUNDS, "+2 psi"),
        ("1", "click", POUNDS, "+1 click"),
        ("3", "click", POUNDS, "+3 clicks"),
        ("-2", "tooth", POUNDS, "−2 teeth"),
        ("1", "1", POUNDS, "+1"),
    ],
)
def test_an_amount_is_said_in_the_readers_unit(
    amount: str, unit: str, units: Units, said: str
) -> None:
    assert format_amount(Decimal(amount), unit, units) == said


@pytest.fixture
def as_set(garage: Garage, people: People) -> Sheet:
    """A sheet as set on which three pounds of ballast were noted, kept in kilograms."""
    with viewing_as(people.crew.pk):
        change = note_change(
            by=people.crew,
            sheet=garage.sheet(people.crew),
            adjuster="ballast",
            spot="car",
            amount=Decimal("1.36077711"),
            unit="kg",
        )
    return change.sheet


def test_pages_print_and_trail_say_pounds(client: Client, as_set: Sheet, people: People) -> None:
    client.force_login(people.crew)
    for address in (f"/sheets/{as_set.pk}/", f"/teams/{people.team.pk}/trail"):
        page = client.get(address).content.decode()
        assert "ballast +3 lb" in page, address
        assert "1.36" not in page, address


def test_a_spread_is_told_as_the_figure_beside_it() -> None:
    assert format_spread(0.6, Kind.LENGTH, POUNDS) == "± 1/16 in"
    assert format_spread(1.0, Kind.LENGTH, POUNDS) == "± 3/32 in"
    assert format_spread(0.6, Kind.LENGTH, KILOGRAMS) == "± 1.2 mm"
