"""A team with a driver, and everybody by name."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date

import pytest
from django.test import Client

from clubsetup.access.models import User
from clubsetup.access.viewer import signing_in, viewing_as
from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.reading import parse
from teams.actions.drivers import add_driver, log_driver_weight, set_birth_date
from teams.actions.places import add_race_class, add_track
from teams.models import Driver, DriverWeight, RaceClass, Track
from tests.people import People

EVERYBODY = (
    *("steward", "official", "coach", "unlinked_coach", "chief", "crew", "guest", "rival"),
    *("other_official", "other_steward", "stranger"),
)
IN_CLUB = EVERYBODY[:8]
IN_TEAM = ("chief", "crew", "guest")


@dataclass
class Things:
    """What Wrens and Fernbank keep."""

    driver: Driver
    weight: DriverWeight
    track: Track
    race_class: RaceClass


@pytest.fixture
def things(people: People) -> Things:
    """A driver with birth date and one weight; a track; a class."""
    chief, steward = fresh(people.chief), fresh(people.steward)
    with viewing_as(chief.pk):
        driver = add_driver(by=chief, team=people.team, display_name="Pip")
        set_birth_date(by=chief, driver=driver, birth_date=date(2016, 4, 2))
        mass = parse("71 lb", Kind.MASS)
        weight = log_driver_weight(by=chief, driver=driver, weighed_on=date(2026, 3, 1), mass=mass)
    with viewing_as(steward.pk):
        radius = parse("30 ft", Kind.LENGTH)
        track = add_track(
            by=steward, club=people.club, name="Oval", surface="paved", corner_radius=radius
        )
        race_class = add_race_class(by=steward, club=people.club, name="Junior Stock")
    return Things(driver, weight, track, race_class)


def fresh(user: User) -> User:
    """The person as a new request finds them."""
    with signing_in(person=user.pk):
        return User.objects.get(pk=user.pk)


@pytest.fixture
def signed_in(people: People) -> Callable[[str], Client]:
    """A browser signed in as somebody by their name in `People`."""

    def sign_in(name: str) -> Client:
        client = Client()
        client.force_login(getattr(people, name))
        return client

    return sign_in
