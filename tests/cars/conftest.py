"""What the tests of cars share."""

from collections.abc import Callable

import pytest

from clubsetup.access.viewer import viewing_as
from tests.cars.garage import Garage, make_garage
from tests.cars.plans.evening import Evening, make_evening
from tests.made_once import MadeOnce
from tests.people import People


@pytest.fixture(scope="session")
def garage_once(once: Callable[..., MadeOnce[Garage]]) -> MadeOnce[Garage]:
    return once(make_garage)


@pytest.fixture
def garage(people: People, garage_once: MadeOnce[Garage]) -> Garage:
    """A car of the Wrens with its chassis and baseline."""
    return garage_once.again(people)


@pytest.fixture(scope="session")
def evening_once(
    once: Callable[..., MadeOnce[Evening]], garage_once: MadeOnce[Garage]
) -> MadeOnce[Evening]:
    def make(people: People, garage: Garage) -> Evening:
        with viewing_as(people.chief.pk):
            return make_evening(garage, people.chief)

    return once(make, garage_once)


@pytest.fixture
def evening(people: People, garage: Garage, evening_once: MadeOnce[Evening]) -> Evening:
    """The chief's open sheet as set, weighed and measured as the car came."""
    return evening_once.again(people, garage)
