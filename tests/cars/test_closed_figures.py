"""What closed sheets say is kept, and is always what computing it anew would give."""

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date, timedelta
from decimal import Decimal
from io import StringIO
from typing import Any

from django.core.management import call_command
from django.db import connections, transaction
from django.test import Client
from django.utils import timezone

from cars.catalogue.queries import catalogue
from cars.models import Car, Change, ClosedFigures, Sheet
from cars.sheets.actions.readings import take_typed
from cars.sheets.actions.set_sheet import note_change
from cars.sheets.actions.sheets import close_sheet, correct_sheet, open_sheet
from cars.sheets.queries.closed_figures import as_values, figures_by_sheet
from clubsetup.access.viewer import viewing_as
from tests.cars.garage import Garage
from tests.guards.world import WORLD_DATABASE, World
from tests.owner import as_owner
from tests.people import People

DAY = date(2026, 3, 1)
BAR = "rear-bar.left"
READ = {BAR: "7 1/4", "wheelbase.left": "46 1/4", "wheelbase.right": "46 3/4", "weight.LF": "80"}


def opened(garage: Garage, people: People, role: str, day: int, **head: Any) -> Sheet:
    made_on = DAY + timedelta(days=day)
    given = {"car": garage.car, "surface": "paved", **head}
    sheet = open_sheet(by=people.chief, role=role, made_on=made_on, **given)
    take_typed(by=people.chief, sheet=sheet, typed=READ)
    return sheet


def kept(car: Car) -> dict[Any, Any]:
    return dict(ClosedFigures.objects.filter(sheet__car=car).values_list("sheet_id", "values"))


def anew(car: Car) -> dict[Any, Any]:
    """What the car's closed sheets say, computed from their readings."""
    closed = Sheet.objects.current().filter(car=car, state="closed").exclude(role="target")
    figures = figures_by_sheet(list(closed), catalogue())
    return {pk: as_values(found) for pk, found in figures.items()}


def turn(people: People, sheet: Sheet) -> Any:
    """The upper rod is turned, which the bar feels."""
    rod: dict[str, Any] = {"adjuster": "rear-rod-upper", "spot": "left", "unit": "turn"}
    return note_change(by=people.chief, sheet=sheet, amount=Decimal(2), **rod)


def test_a_closed_sheet_is_kept_with_what_is_computed_and_an_open_one_is_not(
    garage: Garage, people: People
) -> None:
    with viewing_as(people.chief.pk):
        sheet = opened(garage, people, "found", 0)
        assert kept(garage.car) == {}
        close_sheet(by=people.chief, sheet=sheet)
        [values] = kept(garage.car).values()
        assert values[BAR] == 184.15
        assert values["lead.car"] == 12.7
        assert kept(garage.car) == anew(garage.car)


def test_a_target_is_not_kept(garage: Garage, people: People) -> None:
    with viewing_as(people.chief.pk):
        close_sheet(by=people.chief, sheet=opened(garage, people, "target", 0))
        assert kept(garage.car) == {}


def test_a_stale_figure_of_a_sheet_as_set_is_not_kept(garage: Garage, people: People) -> None:
    with viewing_as(people.chief.pk):
        sheet = opened(garage, people, "set", 0)
        turn(people, sheet)
        close_sheet(by=people.chief, sheet=sheet)
        [values] = kept(garage.car).values()
        assert BAR not in values
        assert "weight.LF" not in values
        assert kept(garage.car) == anew(garage.car)


def test_a_change_that_follows_makes_it_forgotten_until_its_own_sheet_is_closed(
    garage: Garage, people: People
) -> None:
    """What is turned on a car as found is noted on the sheet as set."""
    with viewing_as(people.chief.pk):
        other = close_sheet(by=people.chief, sheet=opened(garage, people, "set", 0))
        found = opened(garage, people, "found", 1)
        change = turn(people, found)
        close_sheet(by=people.chief, sheet=found)
        assert set(kept(garage.car)) == {other.pk, found.pk}
        follows = Sheet.objects.get(based_on=found)
        again = turn(people, follows)
        assert set(kept(garage.car)) == {other.pk}, "another one's figures stay"
        take_typed(by=people.chief, sheet=follows, typed={BAR: "7 1/2"})
        close_sheet(by=people.chief, sheet=follows)
        assert set(kept(garage.car)) == {other.pk, found.pk, follows.pk}
        assert kept(garage.car) == anew(garage.car)
        assert change.pk != again.pk


def test_a_change_taken_back_makes_it_forgotten_too(garage: Garage, people: People) -> None:
    with viewing_as(people.chief.pk):
        found = opened(garage, people, "found", 1)
        change = turn(people, found)
        close_sheet(by=people.chief, sheet=found)
        assert set(kept(garage.car)) == {found.pk}
        back = {"taken_back_at": timezone.now(), "taken_back_by": people.chief}
        Change.objects.filter(pk=change.pk).update(**back)
        assert kept(garage.car) == {}


def test_a_corrected_sheet_is_kept_as_it_is_now(garage: Garage, people: People) -> None:
    with viewing_as(people.chief.pk):
        wrong = close_sheet(by=people.chief, sheet=opened(garage, people, "found", 0))
        mended = correct_sheet(by=people.chief, sheet=wrong, reason="Misread.")
        take_typed(by=people.chief, sheet=mended, typed={BAR: "8"})
        assert anew(garage.car) == {}
        close_sheet(by=people.chief, sheet=mended)
        assert kept(garage.car)[mended.pk][BAR] == 203.2
        assert anew(garage.car) == {mended.pk: kept(garage.car)[mended.pk]}


def test_what_is_missing_is_kept_when_the_next_sheet_is_closed(
    garage: Garage, people: People
) -> None:
    with viewing_as(people.chief.pk):
        for day in range(3):
            close_sheet(by=people.chief, sheet=opened(garage, people, "found", day))
        as_owner("DELETE FROM cars_closedfigures")
        close_sheet(by=people.chief, sheet=opened(garage, people, "set", 9))
        assert len(kept(garage.car)) == 4
        assert kept(garage.car) == anew(garage.car)


def test_drift_says_the_same_where_nothing_is_kept(
    client: Client, garage: Garage, people: People
) -> None:
    with viewing_as(people.chief.pk):
        for week, text in enumerate(("7 1/4", "7 3/8", "7 1/8", "7 1/4", "7 5/16", "8")):
            sheet = opened(garage, people, "set", 7 * week)
            close_sheet(by=people.chief, sheet=sheet)
            sheet = opened(garage, people, "found", 7 * week + 5)
            take_typed(by=people.chief, sheet=sheet, typed={BAR: text})
            close_sheet(by=people.chief, sheet=sheet)
        assert len(kept(garage.car)) == 12
    client.force_login(people.chief)
    address = f"/api/v1/cars/{garage.car.pk}/drift"
    told = client.get(address).json()
    assert told["earlier"] == 5
    assert {each["verdict"] for each in told["drifts"]} >= {"moved", "within tolerance"}
    as_owner("DELETE FROM cars_closedfigures")
    assert client.get(address).json() == told


@contextmanager
def the_owner_in_the_world() -> Iterator[None]:
    """The owner's connection leads to the guards' world, and leaves it as it was."""
    owner = connections["owner"]
    here = owner.settings_dict["NAME"]
    owner.close()
    owner.settings_dict["NAME"] = WORLD_DATABASE
    try:
        with transaction.atomic(using="owner"):
            yield
            transaction.set_rollback(True, using="owner")
    finally:
        owner.close()
        owner.settings_dict["NAME"] = here


def test_the_command_makes_what_closing_made(world: World) -> None:
    with the_owner_in_the_world():
        rows = ClosedFigures.objects.using("owner")
        made = dict(rows.values_list("sheet_id", "values"))
        assert set(made) == {world.closed.pk, world.was_set.pk}
        rows.update(values={BAR: 1.0})
        said = StringIO()
        call_command("rebuild_figures", stdout=said)
        assert dict(rows.values_list("sheet_id", "values")) == made
        assert said.getvalue() == "Kept the figures of 2 closed sheets.\n"
