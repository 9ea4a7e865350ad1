"""How long twelve full sheets side by side take the server. The target is 60 ms of processor.

Run by path: `uv run pytest tests/benchmarks/bench_comparison.py`.
"""

from time import process_time

import pytest
from django.test import Client
from pytest_benchmark.fixture import BenchmarkFixture

from cars.models import Measure
from cars.sheets.actions.readings import take_typed
from clubsetup.access.viewer import viewing_as
from tests.benchmarks import sizes
from tests.cars.filling import everything
from tests.cars.garage import make_garage
from tests.people import People

SHEETS = sizes.of(12, 2)


@pytest.fixture
def twelve(people: People) -> str:
    """Ids of sheets on which a third of the figures are otherwise."""
    garage = make_garage(people)
    ids = []
    with viewing_as(people.chief.pk):
        typed = everything(Measure.objects.in_bulk())
        for n in range(SHEETS):
            sheet = garage.sheet(people.chief, "set")
            others = {box: f"{9 + n} psi" for box in typed if box.startswith("pressure.")}
            others |= {box: f"2 {n + 1}/16" for box in typed if box.startswith("ride-height.")}
            others |= {box: f"{70 + n}.5" for box in typed if box.startswith("weight.")}
            others |= {}
            take_typed(by=people.chief, sheet=sheet, typed=typed | others)
            ids.append(str(sheet.pk))
    return ",".join(ids)


def test_comparison(benchmark: BenchmarkFixture, twelve: str, people: People) -> None:
    client = Client()
    client.force_login(people.chief)
    benchmark.pedantic(client.get, ("/compare", {"sheets": twelve}), rounds=20, warmup_rounds=3)
    begun = process_time()
    response = client.get("/compare", {"sheets": twelve})
    benchmark.extra_info["processor_ms"] = round(1000 * (process_time() - begun), 1)
    assert response.status_code == 200
