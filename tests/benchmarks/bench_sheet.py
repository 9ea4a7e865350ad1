"""How long a sheet's page takes the server: 80 readings, a baseline, an earlier sheet beside it.

Run by path: `uv run pytest tests/benchmarks/bench_sheet.py`. The target is 30 ms.
"""

import pytest
from django.test import Client
from pytest_benchmark.fixture import BenchmarkFixture

from cars.lookups import find_sheet
from cars.models import Measure, Sheet
from cars.sheets.actions.readings import take_typed
from cars.sheets.actions.sheets import open_sheet
from cars.sheets.presenters.sheet_view import sheet_view
from clubsetup.access.viewer import viewing_as
from tests.cars.filling import everything
from tests.cars.garage import Garage, make_garage
from tests.people import People


@pytest.fixture
def garage(people: People) -> Garage:
    return make_garage(people)


@pytest.fixture
def full(garage: Garage, people: People) -> Sheet:
    with viewing_as(people.chief.pk):
        measures = Measure.objects.in_bulk()
        typed = everything(measures)
        assert len(typed) >= 80
        found = garage.sheet(people.chief)
        take_typed(by=people.chief, sheet=found, typed=typed)
        as_set = open_sheet(by=people.chief, car=garage.car, role="set", based_on=found)
        take_typed(by=people.chief, sheet=as_set, typed=typed)
    return as_set


def test_sheet_page(benchmark: BenchmarkFixture, full: Sheet, people: People) -> None:
    client = Client()
    client.force_login(people.chief)
    response = benchmark(client.get, f"/sheets/{full.pk}/")
    assert response.status_code == 200
    assert response.content.count(b"data-box") >= 80


def test_page_of_boxes(benchmark: BenchmarkFixture, full: Sheet, people: People) -> None:
    client = Client()
    client.force_login(people.chief)
    response = benchmark(client.get, f"/sheets/{full.pk}/readings")
    assert response.status_code == 200
    assert response.content.count(b"data-reading") >= 80


def test_saving_one_box(benchmark: BenchmarkFixture, full: Sheet, people: People) -> None:
    client = Client()
    client.force_login(people.chief)
    texts = iter(["2 1/4", "2 5/16"] * 10_000)

    def save() -> int:
        return client.post(
            f"/sheets/{full.pk}/readings",
            {"ride-height.LF": next(texts)},
            headers={"HX-Request": "true", "HX-Trigger-Name": "ride-height.LF"},
        ).status_code

    assert benchmark(save) == 200


def test_sheet_view(benchmark: BenchmarkFixture, full: Sheet, people: People) -> None:
    with viewing_as(people.chief.pk):
        sheet = find_sheet(full.pk)
        assert sheet is not None
        view = benchmark(sheet_view, sheet, people.chief)
    assert view.taken >= 80
