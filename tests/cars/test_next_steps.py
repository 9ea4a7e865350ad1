"""What is next for a car: one sentence and one button, from what is true of it now."""

from collections.abc import Iterator, Sequence
from decimal import Decimal
from uuid import UUID

import pytest

from cars.garage.presenters import next_steps
from cars.garage.presenters.car_blocks import CarBlock, team_blocks
from cars.garage.presenters.next_steps import NextStep, NextSteps
from cars.models import Car, Sheet
from cars.plans.queries.class_limits import ClassLimit, _providers
from cars.sheets.actions.readings import take_typed
from cars.sheets.actions.set_sheet import note_change
from cars.sheets.actions.sheets import close_sheet
from clubsetup.access.models import User
from clubsetup.access.viewer import viewing_as
from tests.cars.garage import Garage
from tests.people import People

WEIGHTS = {f"weight.{spot}": "80" for spot in ("LF", "RF", "LR", "RR")}
TYRES = {
    f"{measure}.{spot}": text
    for measure, text in (("pressure", "9"), ("circumference", "35"))
    for spot in ("LF", "RF", "LR", "RR")
}


def block(viewer: User) -> CarBlock:
    """The one car, as its list shows it to them."""
    with viewing_as(viewer.pk):
        (team,) = team_blocks(User.objects.get(pk=viewer.pk))
        (found,) = team.blocks
        return found


def said(step: NextStep) -> str:
    return f"{step.before}{step.point}{step.after}"


def closed(garage: Garage, by: User, role: str, typed: dict[str, str]) -> Sheet:
    with viewing_as(by.pk):
        sheet = garage.sheet(by, role=role)
        take_typed(by=by, sheet=sheet, typed=typed)
        return close_sheet(by=by, sheet=sheet)


@pytest.fixture
def minimum() -> Iterator[None]:
    """The class asks for 322 lb."""

    def asked(cars: Sequence[Car]) -> dict[UUID, ClassLimit]:
        limit = ClassLimit(Decimal("146.0567430"), "", race_class="Starter")
        return {car.pk: limit for car in cars}

    _providers.append(asked)
    yield
    _providers.remove(asked)


def test_a_car_without_a_sheet_is_measured(garage: Garage, people: People) -> None:
    step = block(people.chief).next
    assert "No sheet yet" in said(step)
    assert step.does == "Measure as found"
    assert step.url == f"/cars/{garage.car.pk}/bench/new"


def test_an_open_sheet_goes_on_at_its_first_open_step(garage: Garage, people: People) -> None:
    with viewing_as(people.crew.pk):
        sheet = garage.sheet(people.crew)
        take_typed(by=people.crew, sheet=sheet, typed=TYRES)
    found = block(people.crew)
    assert said(found.next) == "Springs and dampers are next."
    assert found.next.does == "Measure springs and dampers"
    assert found.next.url == f"/sheets/{sheet.pk}/bench/"
    assert found.here is not None
    assert found.here.order == 2
    assert [step.is_done for step in found.steps] == [True] + 11 * [False]


def test_what_was_changed_since_is_to_be_taken_again(garage: Garage, people: People) -> None:
    with viewing_as(people.crew.pk):
        sheet = garage.sheet(people.crew)
        take_typed(by=people.crew, sheet=sheet, typed={**TYRES, **WEIGHTS})
        note_change(
            by=people.crew,
            sheet=sheet,
            adjuster="tyre",
            spot="RF",
            amount=Decimal(1),
            unit="1",
        )
    found = block(people.crew)
    assert "to take again" in found.next.point
    assert "tyre RF" in found.next.after
    assert found.next.does == "Measure tyres"
    assert found.to_take_again > 1
    total = next(each for each in found.figures if each.name == "Total")
    assert (total.look, total.words) == ("again", "to take again")


def test_a_car_measured_as_found_is_set(garage: Garage, people: People) -> None:
    sheet = closed(garage, people.crew, "found", WEIGHTS)
    step = block(people.crew).next
    assert step.does == "Set the car"
    assert step.url == f"/sheets/{sheet.pk}/bench/done"


def test_a_car_that_was_set_waits_for_nothing(garage: Garage, people: People) -> None:
    closed(garage, people.crew, "set", WEIGHTS)
    step = block(people.crew).next
    assert said(step) == "Nothing waits: it stands as set 14 Mar 2026."
    assert step.does == "Measure as found"


@pytest.mark.usefixtures("minimum")
class TestWeight:
    def test_that_is_short_asks_for_ballast(self, garage: Garage, people: People) -> None:
        sheet = closed(garage, people.crew, "set", WEIGHTS)
        found = block(people.crew)
        assert said(found.next) == "The car is 2.0 lb short of the Starter minimum by your scales."
        assert found.next.does == "Choose ballast"
        assert found.next.url == f"/sheets/{sheet.pk}/ballast"
        total = next(each for each in found.figures if each.name == "Total")
        assert (total.look, total.words) == ("bad", "under the minimum")

    def test_that_may_be_either_is_told_so(self, garage: Garage, people: People) -> None:
        closed(garage, people.crew, "set", {**WEIGHTS, "weight.LF": "82"})
        assert "too close to tell" in said(block(people.crew).next)

    def test_that_is_enough_is_quiet(self, garage: Garage, people: People) -> None:
        closed(garage, people.crew, "set", {**WEIGHTS, "weight.LF": "90"})
        found = block(people.crew)
        assert found.next.does == "Measure as found"
        assert not [each for each in found.figures if each.look]

    def test_of_a_car_as_found_waits_until_it_is_set(self, garage: Garage, people: People) -> None:
        closed(garage, people.crew, "found", WEIGHTS)
        found = block(people.crew)
        assert found.next.does == "Set the car"
        assert [each.look for each in found.figures if each.name == "Total"] == ["bad"]

    def test_waits_for_the_steps_before_ballast(self, garage: Garage, people: People) -> None:
        with viewing_as(people.crew.pk):
            take_typed(by=people.crew, sheet=garage.sheet(people.crew), typed=WEIGHTS)
        assert block(people.crew).next.does == "Measure tyres"


def test_who_only_reads_is_led_to_the_sheet(garage: Garage, people: People) -> None:
    assert block(people.guest).next.does == ""
    sheet = closed(garage, people.crew, "found", WEIGHTS)
    step = block(people.guest).next
    assert (step.does, step.url) == ("Read it as found", f"/sheets/{sheet.pk}/")


def test_the_lowest_place_speaks_first(
    garage: Garage, people: People, monkeypatch: pytest.MonkeyPatch
) -> None:
    first = NextSteps(1, lambda lines, _: {line.car.pk: NextStep("Look here") for line in lines})
    monkeypatch.setattr(next_steps, "_known", [first, *next_steps._known])
    assert block(people.crew).next.point == "Look here"
