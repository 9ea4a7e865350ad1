"""A victim with everything that signs them in."""

from collections.abc import Iterator

import pytest
from pytest_django.plugin import DjangoDbBlocker

from tests.attacks.held import Held, made
from tests.guards.world import undone
from tests.standing_people import standing_people


@pytest.fixture(scope="module")
def standing(django_db_setup: None, django_db_blocker: DjangoDbBlocker) -> Iterator[Held]:
    """Made once; each attempt is undone."""
    with django_db_blocker.unblock(), undone():
        yield made(standing_people())


@pytest.fixture
def held(standing: Held, django_db_blocker: DjangoDbBlocker) -> Iterator[Held]:
    with django_db_blocker.unblock(), undone():
        yield standing
