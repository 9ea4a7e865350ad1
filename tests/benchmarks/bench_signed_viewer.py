"""What the signature costs: pages and the function itself, with the MAC checked and taken on trust.

Run by path: `uv run pytest tests/benchmarks/bench_signed_viewer.py -n 0 -s`. The two take turns, so
that a busy machine slows both; the middle and the best of the rounds are told.
"""

import statistics
import time
from collections.abc import Iterator

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from pytest_django.plugin import DjangoDbBlocker

from clubsetup.access.viewer import viewing_as
from tests.benchmarks import sizes
from tests.guards.world import World
from tests.owner import as_owner

ROUNDS = sizes.of(15)
CALLS = sizes.of(2000, 10)
ON_TRUST = """
CREATE OR REPLACE FUNCTION access.viewer() RETURNS uuid LANGUAGE sql STABLE
RETURN NULLIF(substr(current_setting('clubsetup.viewer', true), 66), '')::uuid
"""


@pytest.fixture
def bodies(world: World, django_db_blocker: DjangoDbBlocker) -> Iterator[dict[str, str]]:
    """The function as it is and on trust; it is replaced in the world's transaction alone."""
    with django_db_blocker.unblock(), connection.cursor() as cursor:
        cursor.execute("SELECT pg_get_functiondef('access.viewer'::regproc)")
        yield {"checked": cursor.fetchone()[0], "on trust": ON_TRUST}


def per_call(world: World) -> float:
    with viewing_as(world.people.chief.pk), connection.cursor() as cursor:
        started = time.perf_counter()
        cursor.execute("SELECT count(access.viewer()) FROM generate_series(1, %s)", [CALLS])
        return (time.perf_counter() - started) / CALLS


def test_what_the_signature_costs(world: World, bodies: dict[str, str]) -> None:
    client = Client()
    client.force_login(world.people.chief)
    pages = {
        "a sheet": reverse("sheet", args=[world.sheet.pk]),
        "the start page": reverse("start"),
        "a team": reverse("team", args=[world.people.team.pk]),
    }
    took: dict[tuple[str, str], list[float]] = {}
    for _ in range(ROUNDS):
        for how, body in bodies.items():
            as_owner(body)
            took.setdefault(("one call", how), []).append(per_call(world))
            for page, where in pages.items():
                client.get(where)  # plans are made again after the function was replaced
                started = time.perf_counter()
                assert client.get(where).status_code == 200
                took.setdefault((page, how), []).append(time.perf_counter() - started)
    for page, where in pages.items():
        with CaptureQueriesContext(connection) as asked:
            client.get(where)
        print(f"\n{page}: {len(asked)} statements")  # noqa: T201
    for (what, how), times in took.items():
        print(  # noqa: T201
            f"{what}, {how}: {statistics.median(times) * 1e3:.3f} ms, "
            f"at best {min(times) * 1e3:.3f} ms"
        )
