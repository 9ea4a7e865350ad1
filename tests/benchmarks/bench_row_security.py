"""What row security costs: the same queries and pages with the policies and without them.

Run by path: `uv run pytest tests/benchmarks/bench_row_security.py -s`. 2,000 teams with 2,016,000
readings in a database of their own. Once the restricted role asks, with a chief as the viewer;
once the tables' owner, whose policy is a constant true. They take turns, so that a busy machine
slows both. The aim is no more than 10 %.
"""

import os
import statistics
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any

import pytest
from django.db import connections
from django.db.models import Avg, Count
from django.test import Client
from pytest_benchmark.fixture import BenchmarkFixture
from pytest_django.plugin import DjangoDbBlocker

from cars.models import Car, Reading, Sheet
from cars.sheets.queries.sheets import latest_sheets
from clubsetup.access.models import User
from clubsetup.access.viewer import signing_in, viewing_as
from clubsetup.runtime.embedded import Embedded
from clubsetup.runtime.passwords import SUPERUSER
from tests.benchmarks import many, sizes
from tests.migrated import copy_database, point_connections_at

ROUNDS = sizes.of(200)
PAGE_ROUNDS = sizes.of(60)
TEAM = sizes.of(700)
MINE, SHEET, CAR = many.uid(3, TEAM), many.uid(7, 13 * many.TEAMS + TEAM), many.uid(6, TEAM)


@pytest.fixture(scope="module")
def filled(
    django_db_setup: None, django_db_blocker: DjangoDbBlocker, embedded: Embedded
) -> Iterator[User]:
    """The full database behind both connections; the chief of one team."""
    before = os.environ["DATABASE_URL"]
    copy_database(embedded, "many")
    with django_db_blocker.unblock():
        point_connections_at(embedded.prepare("many"))
        started = time.monotonic()
        count = many.fill(embedded.url("many", SUPERUSER))
        took = time.monotonic() - started
        print(f"\n{count:,} readings in {took:.0f} s")  # noqa: T201
        chief = many.chief_of(TEAM)
        with signing_in(person=chief):  # with the password's hash, by which a session is known
            user = User.objects.get(pk=chief)
        yield user
        point_connections_at(before)


QUERIES: dict[str, Callable[[str], Any]] = {
    "a sheet's readings": lambda db: list(Reading.objects.using(db).filter(sheet_id=SHEET)),
    "a car's sheets": lambda db: list(Sheet.objects.using(db).filter(car_id=CAR)),
    "a team's cars": lambda db: list(Car.objects.using(db).filter(team_id=MINE)),
    "readings with sheet and car": lambda db: list(
        Reading.objects.using(db)
        .current()
        .filter(sheet__car_id=CAR)
        .select_related("sheet__car", "measure")
        .order_by("-created_at")[:200]
    ),
    "count and average": lambda db: (
        Reading.objects.using(db)
        .filter(team_id=MINE, measure="wheelbase")
        .aggregate(Count("id"), Avg("value"))
    ),
    "one reading": lambda db: Reading.objects.using(db).get(pk=many.uid(8, TEAM * 72 + 5)),
}


@dataclass
class Took:
    """Seconds with the policies and without, pair by pair."""

    secured: list[float]
    bare: list[float]

    def told(self, what: str) -> dict[str, float]:
        """Prints and returns the medians, and the ratio of medians and of the fastest."""
        secured, bare = statistics.median(self.secured), statistics.median(self.bare)
        best = min(self.secured) / min(self.bare)
        print(  # noqa: T201  # what it is run for
            f"{what:30} {secured * 1e3:8.3f} ms with, {bare * 1e3:8.3f} ms without:"
            f" {(secured / bare - 1) * 100:+6.1f} %, at their fastest {(best - 1) * 100:+6.1f} %"
        )
        return {"secured": secured, "bare": bare, "ratio": secured / bare, "fastest": best}


def in_turn(secured: Callable[[], Any], bare: Callable[[], Any], rounds: int) -> Took:
    """The two take turns, and take turns at being first, which finds the caches colder."""
    took = Took([], [])
    pair = [(took.secured, secured), (took.bare, bare)]
    for number in range(rounds + 5):
        pair.reverse()
        for kept, call in pair:
            started = time.perf_counter()
            call()
            if number >= 5:
                kept.append(time.perf_counter() - started)
    return took


@pytest.mark.parametrize("name", QUERIES)
def test_query(name: str, filled: User, benchmark: BenchmarkFixture) -> None:
    """Within one transaction each, as in a request."""
    query = QUERIES[name]
    with connections["owner"].cursor() as cursor:
        cursor.execute("BEGIN")
    with viewing_as(filled.pk):
        assert repr(query("default")) == repr(query("owner"))
        took = in_turn(lambda: query("default"), lambda: query("owner"), ROUNDS)
        benchmark.extra_info.update(took.told(name))
        benchmark.pedantic(query, args=("default",), rounds=sizes.of(20))
    with connections["owner"].cursor() as cursor:
        cursor.execute("ROLLBACK")


@contextmanager
def as_owner() -> Iterator[None]:
    """Whatever asks `default` asks as the owner."""
    restricted = connections["default"]
    connections["default"] = connections["owner"]
    try:
        yield
    finally:
        connections["default"] = restricted


@pytest.mark.parametrize("path", [f"/sheets/{SHEET}/", "/cars/", f"/cars/{CAR}/sheets/"])
def test_page(path: str, filled: User, benchmark: BenchmarkFixture) -> None:
    client = Client()
    client.force_login(filled)

    def get() -> bytes:
        answer = client.get(path)
        assert answer.status_code == 200
        return answer.content

    def get_as_owner() -> bytes:
        with as_owner():
            return get()

    assert len(get()) == len(get_as_owner())
    took = in_turn(get, get_as_owner, PAGE_ROUNDS)
    benchmark.extra_info.update(took.told(path.split("/")[1] + " page"))
    benchmark.pedantic(get, rounds=sizes.of(5))


def test_the_latest_sheet_of_every_car(filled: User, benchmark: BenchmarkFixture) -> None:
    """A whole club's cars in one query, as somebody who coaches them all would ask."""
    with viewing_as(filled.pk):
        cars = list(Car.objects.all())
        assert [car.pk for car in cars] == [CAR]
        assert benchmark(lambda: latest_sheets(cars))
