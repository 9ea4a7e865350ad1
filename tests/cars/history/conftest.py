import pytest

from clubsetup.access.viewer import viewing_as
from tests.cars.garage import Garage
from tests.cars.plans.evening import Evening, make_evening
from tests.people import People


@pytest.fixture
def evening(garage: Garage, people: People) -> Evening:
    """The chief's sheet as set, weighed and measured."""
    with viewing_as(people.chief.pk):
        return make_evening(garage, people.chief)
