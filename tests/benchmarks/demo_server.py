"""A throw-away server with the demo club, whose cars have accepted plans too."""

import os
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from decimal import Decimal
from pathlib import Path

import django
import psycopg

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "tests.settings")
django.setup()

from django.conf import settings  # noqa: E402  # after the settings are chosen
from django.db import connections  # noqa: E402

from cars.catalogue.queries import catalogue  # noqa: E402
from cars.models import Car, Plan, Sheet  # noqa: E402
from cars.plans.actions.turns import accept_plan  # noqa: E402
from cars.sheets.actions.closed_figures import rebuild_figures  # noqa: E402
from cars.sheets.actions.conflicts import OVER_ANYTHING  # noqa: E402
from clubsetup.access.models import User  # noqa: E402
from clubsetup.access.viewer import viewing_as  # noqa: E402
from clubsetup.runtime.embedded import Embedded  # noqa: E402
from clubsetup.runtime.passwords import SUPERUSER  # noqa: E402
from tests.migrated import DEMO, MIGRATED, copy_database, copy_demo, point_connections_at  # noqa: E402

PLANNED_CARS = 3
TURNS = [Decimal("0.5"), Decimal(0), Decimal("-0.25"), Decimal(0)]


@contextmanager
def demo_server(cars: int = PLANNED_CARS, which: str = DEMO) -> Iterator[Embedded]:
    """The server; so many of its cars have a plan on each sheet as set, the first car first.

    `which`: the demo with or without its seasons of runs.
    """
    data = Path(settings.DATA_DIR) / which
    data.parent.mkdir(parents=True, exist_ok=True)
    copy_demo(data, which)
    server = Embedded(data / "database")
    Path(settings.STATIC_ROOT).mkdir(exist_ok=True)
    try:
        server.prepare(MIGRATED)
        _make(server, cars)
        yield server
    finally:
        connections.close_all()
        server.stop()
        shutil.rmtree(settings.DATA_DIR, ignore_errors=True)


def _make(server: Embedded, cars: int) -> None:
    copy_database(server, DEMO)
    point_connections_at(server.url(DEMO))
    accept_plans(server.url(DEMO, SUPERUSER), cars)


def accept_plans(superuser: str, cars: int) -> None:
    """In the database of that address, on each sheet as set of so many cars."""
    with psycopg.connect(superuser, autocommit=True) as there:
        there.execute("SET session_replication_role = replica")
        for car in Car.objects.using("owner").order_by("created_at")[:cars]:
            _accept_plans(there, car)
            rebuild_figures(car, catalogue())


def _accept_plans(there: psycopg.Connection, car: Car) -> None:
    """As if they had been accepted on the evening: the demo's sheets are closed by now."""
    sheets = Sheet.objects.using("owner").filter(car=car, role=Sheet.Role.SET)
    for sheet in sheets.order_by("made_on"):
        opened = "UPDATE cars_sheet SET state = 'open', closed_at = NULL, closed_by_id = NULL"
        there.execute(f"{opened} WHERE id = %s", [sheet.pk])
        with viewing_as(sheet.opened_by_id):
            by = User.objects.get(pk=sheet.opened_by_id)
            again = Sheet.objects.get(pk=sheet.pk)
            plan = accept_plan(by=by, sheet=again, turns=TURNS, seen=OVER_ANYTHING)
        there.execute(
            "UPDATE cars_sheet SET state = 'closed', closed_at = %s, closed_by_id = %s "
            "WHERE id = %s",
            [sheet.closed_at, sheet.closed_by_id, sheet.pk],
        )
        _date_back(there, plan, sheet)


def _date_back(there: psycopg.Connection, plan: Plan, sheet: Sheet) -> None:
    """The next sheet's weights are those after the turns."""
    then = "(SELECT max(taken_at) FROM cars_reading WHERE sheet_id = %s)"
    there.execute(
        f"UPDATE cars_plan SET accepted_at = {then}, created_at = {then} WHERE id = %s",
        [sheet.pk, sheet.pk, plan.pk],
    )
    there.execute(
        f"UPDATE cars_change SET made_at = {then}, created_at = {then} WHERE sheet_id = %s",
        [sheet.pk, sheet.pk, sheet.pk],
    )
