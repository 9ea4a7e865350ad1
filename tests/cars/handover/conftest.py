from collections.abc import Callable

import pytest

from tests.cars.garage import Garage
from tests.cars.handover.giving import Giving, make_giving
from tests.made_once import MadeOnce
from tests.people import People


@pytest.fixture(scope="session")
def giving_once(
    once: Callable[..., MadeOnce[Giving]], garage_once: MadeOnce[Garage]
) -> MadeOnce[Giving]:
    return once(make_giving, garage_once)


@pytest.fixture
def giving(people: People, garage: Garage, giving_once: MadeOnce[Giving]) -> Giving:
    """A car with a season behind it, and who gets it."""
    return giving_once.again(people, garage)
