"""The tests' own clocks: nothing that is kept or counted for a while ends during a test."""

import time

import pytest
from allauth.core.internal import ratelimit
from django.core.cache import cache

from cars.catalogue.queries import cached_catalogue
from clubsetup.access.counts import count_one


def _let_a_day_pass(monkeypatch: pytest.MonkeyPatch) -> None:
    now, since = time.time(), time.monotonic()
    monkeypatch.setattr(time, "time", lambda: now + 86_400)
    monkeypatch.setattr(time, "monotonic", lambda: since + 86_400)


def test_what_is_cached_for_a_second_is_there_a_day_later(monkeypatch: pytest.MonkeyPatch) -> None:
    cache.set("kept", 1, timeout=1)
    _let_a_day_pass(monkeypatch)
    assert cache.get("kept") == 1


def test_no_window_of_a_limit_ends(monkeypatch: pytest.MonkeyPatch) -> None:
    before, counted = ratelimit.time.time(), count_one("tries", 1)
    _let_a_day_pass(monkeypatch)
    assert 0 < ratelimit.time.time() - before < 1
    assert count_one("tries", 1).times == counted.times + 1


@pytest.mark.django_db
def test_the_catalogue_is_read_once(monkeypatch: pytest.MonkeyPatch) -> None:
    read = cached_catalogue()
    _let_a_day_pass(monkeypatch)
    assert cached_catalogue() is read
