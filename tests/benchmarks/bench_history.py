"""What a car's history costs the processor: ten seasons, 1,500 sheets, 8,000 runs of fifteen laps.

Run by path: `uv run pytest -n 0 -s tests/benchmarks/bench_history.py`. The target is 150 ms of
processor, of web and database together, which is printed; what the table shows is the web's.
"""

import statistics
import sys
import time
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from pytest_benchmark.fixture import BenchmarkFixture

from cars.models import ClosedFigures, Laps, Reading, Run, RunDetails, Sheet
from cars.models.catalogue import Measure
from clubsetup.access.models import User
from clubsetup.access.viewer import viewing_as
from teams.actions.drivers import add_driver
from tests.benchmarks import sizes
from tests.benchmarks.cpu import ProcessClock
from tests.cars.garage import Garage, make_garage
from tests.owner import as_owner
from tests.people import People

SEASONS, SHEETS, RUNS, LAPS = 10, sizes.of(1500, 12), sizes.of(8000, 16), 15
WEIGHTS = {"LF": 29.0, "RF": 25.4, "LR": 43.1, "RR": 24.9}
FIRST = date(2016, 4, 2)
DAYS = 3600
VISITS = sizes.of(15, 1)


def remember(people: People, garage: Garage) -> None:
    """Sheets as found and as set in turns; every fourth as set was changed at the track since."""
    by = people.chief
    with viewing_as(by.pk):
        driver = add_driver(by=by, team=people.team, display_name="Pip")
    sheets, kept, readings = [], [], []
    for place in range(SHEETS):
        role = "set" if place % 2 else "found"
        day = FIRST + timedelta(days=DAYS * place // SHEETS)
        sheet = Sheet(
            car=garage.car,
            team=people.team,
            role=role,
            made_on=day,
            surface="paved",
            baseline=garage.baseline,
            opened_by=by,
        )
        sheets.append(sheet)
        values = {f"measure-{n}.LF": 1.0 * n for n in range(80)}
        values |= {"cross.car": 52.0 + place % 7 / 10, "ride-height.RF": 60.0 + place % 5}
        as_set = {}
        if role == "set" and place % 8 == 1:
            as_set = {box: values.pop(box) for box in ("cross.car", "ride-height.RF")}
            at = datetime(day.year, day.month, day.day, 20, tzinfo=UTC)
            for spot, kg in WEIGHTS.items():
                readings.append(_reading(sheet, "weight", spot, kg, by, at))
            readings.append(_reading(sheet, "ride-height", "RF", 60.0, by, at))
        kept.append(ClosedFigures(sheet=sheet, team=people.team, values=values, as_set=as_set))
    runs, details, laps = [], [], []
    for place in range(RUNS):
        day = FIRST + timedelta(days=DAYS * place // RUNS)
        at = datetime(day.year, day.month, day.day, 23, tzinfo=UTC)
        run = Run(car=garage.car, team=people.team, ran_at=at, by=by)
        given = {"run": run, "team": people.team, "by": by}
        runs.append(run)
        details.append(RunDetails(surface="paved", driver=driver, **given))
        times = [Decimal("7.4") + Decimal(n % 5) / 10 for n in range(LAPS)]
        laps.append(Laps(times=times, marks=[""] * LAPS, timed_by="transponder", **given))
    with viewing_as(by.pk):
        Sheet.objects.bulk_create(sheets, batch_size=500)
        Reading.objects.bulk_create(readings, batch_size=500)
        close = "UPDATE cars_sheet SET state = 'closed', closed_at = now(), closed_by_id = %s"
        as_owner(f"{close} WHERE car_id = %s", by.pk, garage.car.pk)
        ClosedFigures.objects.bulk_create(kept, batch_size=500)
        Run.objects.bulk_create(runs, batch_size=500)
        RunDetails.objects.bulk_create(details, batch_size=500)
        Laps.objects.bulk_create(laps, batch_size=500)


def _reading(
    sheet: Sheet, measure: str, spot: str, value: float, by: User, at: datetime
) -> Reading:
    return Reading(
        sheet=sheet,
        team=sheet.team,
        measure=Measure(pk=measure),
        spot=spot,
        value=Decimal(str(value)),
        typed=str(value),
        unit="kg",
        resolution=Decimal("0.1"),
        taken_at=at,
        by=by,
    )


@pytest.mark.parametrize("page", ["history", "season"])
@pytest.mark.benchmark(timer=time.process_time)
def test_a_cars_history(benchmark: BenchmarkFixture, people: People, page: str) -> None:
    garage = make_garage(people)
    remember(people, garage)
    client = Client()
    client.force_login(people.chief)
    path = "history?season=all" if page == "history" else f"seasons/{FIRST.year + 1}"
    path = f"/cars/{garage.car.pk}/{path}"
    answer = benchmark(client.get, path)
    assert answer.status_code == 200
    say_both(client, path)


def say_both(client: Client, path: str) -> None:
    """Medians of the CPU of the web and of the database, as tests/benchmarks/page_cpu.py does."""
    database = ProcessClock(connection.connection.info.backend_pid)
    webs, databases = [], []
    for _ in range(VISITS):
        web, db = time.process_time(), database.ms()
        client.get(path)
        webs.append(1000.0 * (time.process_time() - web))
        databases.append(database.ms() - db)
    with CaptureQueriesContext(connection) as seen:
        client.get(path)
    web, db = statistics.median(webs), statistics.median(databases)
    sys.stdout.write(f"{path[-18:]}: {web:.0f} ms web, {db:.0f} ms database, {len(seen)} queries\n")
