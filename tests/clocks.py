"""Wall clocks of the tests: a club in a zone, a moment that stands still, limits that never end."""

import math
import time
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import datetime
from itertools import count
from types import SimpleNamespace

import pytest
from allauth.core.internal import ratelimit
from django.core.cache.backends.locmem import LocMemCache
from django.db import connection, connections
from django.utils import timezone

from cars.catalogue import queries as catalogue
from clubsetup.access.models import User
from clubsetup.access.viewer import viewing_as
from teams.actions.clubs import set_club_time_zone
from teams.models import Club


def keep_time(by: User, club: Club, time_zone: str) -> None:
    """The steward chooses the zone."""
    by = User.objects.get(pk=by.pk)
    with viewing_as(by.pk):
        set_club_time_zone(by=by, club=club, time_zone=time_zone)


def stand_still(monkeypatch: pytest.MonkeyPatch, moment: datetime) -> None:
    """The framework's clock shows this moment."""
    monkeypatch.setattr(timezone, "now", lambda: moment)


class CacheWithoutExpiry(LocMemCache):
    """Forgets when it is cleared, which happens before each test, and never because time passed."""

    def get_backend_timeout(self, *_: object, **__: object) -> None:
        """None is for ever."""


def let_no_limit_end(monkeypatch: pytest.MonkeyPatch) -> None:
    """What is counted or kept for a minute is so for the whole test, however slow the machine."""
    # Two tries must not have one time: a try that is taken back is found by it.
    tries = count(time.time(), 1e-4)
    slow = SimpleNamespace(**{**vars(time), "time": lambda: next(tries)})
    monkeypatch.setattr(ratelimit, "time", slow)
    # Read anew in each test, so that its queries are counted alike whichever test came before.
    catalogue._catalogue_in.cache_clear()
    monkeypatch.setattr(catalogue, "CATALOGUE_KEPT", math.inf)


def let_tests_set_the_database_clock() -> None:
    """The owner's part, once a run: in the tests' database alone the clock reads a setting."""
    with connections["owner"].cursor() as cursor:
        cursor.execute(
            "CREATE OR REPLACE FUNCTION access.server_now() RETURNS timestamptz "
            "LANGUAGE sql STABLE PARALLEL SAFE AS $$ SELECT "
            "COALESCE(NULLIF(current_setting('tests.now', true), '')::timestamptz, now()) $$"
        )


@contextmanager
def database_at(moment: datetime) -> Iterator[None]:
    """What the database answers at that moment of its own clock, as far as it asks it."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT current_setting('tests.now', true)")
        was = cursor.fetchone()[0] or ""
        cursor.execute("SELECT set_config('tests.now', %s, false)", [moment.isoformat()])
        try:
            yield
        finally:
            cursor.execute("SELECT set_config('tests.now', %s, false)", [was])
