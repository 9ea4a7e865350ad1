import pytest

from tests.cars.garage import Garage, make_garage
from tests.people import People


@pytest.fixture
def garage(people: People) -> Garage:
    """A car of the Wrens with its chassis and baseline."""
    return make_garage(people)
