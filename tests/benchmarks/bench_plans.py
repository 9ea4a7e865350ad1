"""How long 'what if' and the turn plans take the server, with six changes learned.

Run by path: `uv run pytest tests/benchmarks/bench_plans.py`. A slider's answer must be there within
100 ms, of which the server may take half.
"""

import re

import pytest
from django.test import Client
from pytest_benchmark.fixture import BenchmarkFixture

from cars.mechanics import Corners
from cars.models import Measure
from cars.plans.actions.turns import accept_plan
from cars.sheets.actions.conflicts import OVER_ANYTHING
from clubsetup.access.viewer import viewing_as
from tests.cars.filling import everything
from tests.cars.garage import make_garage
from tests.cars.plans.evening import Evening, make_evening, quarter
from tests.people import People


@pytest.fixture
def learned(people: People) -> Evening:
    with viewing_as(people.chief.pk):
        evening = make_evening(make_garage(people), people.chief, read=False)
        evening.take(everything(Measure.objects.in_bulk()))
        evening.weigh()
        for turns in (("1", "0", "0", "-1"), ("-1", "1", "0", "0"), ("0", "-1", "0", "1")) * 2:
            accept_plan(
                by=people.chief, sheet=evening.sheet, turns=quarter(*turns), seen=OVER_ANYTHING
            )
            evening.turn(Corners.of(map(float, turns)))
            evening.weigh()
    return evening


def test_a_slider_moved(benchmark: BenchmarkFixture, learned: Evening, people: People) -> None:
    client = Client()
    client.force_login(people.chief)
    address = f"/sheets/{learned.sheet.pk}/what-if"
    sealed = re.search(r'name="sealed" value="([^"]+)"', client.get(address).content.decode())
    assert sealed
    sent = {"sealed": sealed[1], "LF": "0.5", "RF": "-0.25", "LR": "0", "RR": "1"}
    response = benchmark(client.post, f"{address}/answer", sent, headers={"HX-Request": "true"})
    assert response.status_code == 200
    assert b'hx-swap-oob="true"' in response.content


def test_the_page_of_plans(benchmark: BenchmarkFixture, learned: Evening, people: People) -> None:
    client = Client()
    client.force_login(people.chief)
    response = benchmark(client.get, f"/sheets/{learned.sheet.pk}/turn")
    assert response.status_code == 200
    assert b"6 changes learned" in response.content
