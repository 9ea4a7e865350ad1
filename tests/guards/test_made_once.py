"""What is made once and put back is what the actions made, and about the people who are there."""

from collections.abc import Callable
from typing import Any

from pytest_django.plugin import DjangoDbBlocker

from cars.models import Car
from clubsetup.access.viewer import viewing_as
from tests.cars.garage import Garage, make_garage
from tests.guards.world import undone
from tests.made_once import MadeOnce
from tests.people import People
from tests.standing_people import committed_people, standing_people


def car_of(people: People, garage: Garage) -> Car:
    """As its chief finds it."""
    with viewing_as(people.chief.pk):
        return Car.objects.select_related("team", "chassis").get(pk=garage.car.pk)


def test_it_stands_after_a_test_that_committed(
    once: Callable[..., MadeOnce[Any]], django_db_blocker: DjangoDbBlocker
) -> None:
    garage = once(make_garage)
    with django_db_blocker.unblock():
        with committed_people() as people:
            ids = {name: row.pk for name, row in vars(people).items()}
        people = standing_people()
        assert {name: row.pk for name, row in vars(people).items()} == ids
        with undone():
            made = garage.again(people)
            car = car_of(people, made)
            assert (car.number, car.team, car.chassis) == ("7", people.team, made.chassis)
            assert made.car.team is people.team


def test_objects_of_one_test_are_not_those_of_another(
    once: Callable[..., MadeOnce[Any]], people: People
) -> None:
    garage = once(make_garage)
    with undone():
        first = garage.again(people)
        first.car.name = "Red"
    second = garage.again(people)
    assert second.car.name == car_of(people, second).name == "Blue"
