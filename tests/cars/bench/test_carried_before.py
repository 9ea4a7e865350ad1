"""Copies made before the database told them apart are found, and nothing else is."""

from importlib import import_module
from typing import Any

from django.db import connections

from cars.catalogue.keys import Key
from cars.models import Reading, Sheet
from cars.sheets.actions.conflicts import OVER_ANYTHING
from cars.sheets.actions.readings import take_same_again, take_typed
from cars.sheets.actions.set_sheet import open_set_sheet
from cars.sheets.actions.sheets import close_sheet, correct_sheet
from clubsetup.access.viewer import viewing_as
from tests.cars.garage import Garage
from tests.people import People

# The second sheet was called otherwise then.
CARRIED = import_module("cars.migrations.0009_carried_and_taken_back").CARRIED.replace(
    "'left'", "'set'"
)
FORGET = """
ALTER TABLE cars_reading DISABLE TRIGGER sheet_is_closed;
UPDATE cars_reading SET carried_from_id = NULL;
SET CONSTRAINTS ALL IMMEDIATE;
ALTER TABLE cars_reading ENABLE TRIGGER sheet_is_closed;
"""
READ = {"ride-height.LF": "2 1/4", "ride-height.RF": "2 3/8", "nuts-bolts.car": "done"}


def test_copies_made_before_are_marked(committed: tuple[People, Garage, Sheet]) -> None:
    people, _, sheet = committed
    by = people.crew
    with viewing_as(by.pk):
        take_typed(by=by, sheet=sheet, typed=READ)
        as_set = open_set_sheet(by=by, sheet=close_sheet(by=by, sheet=sheet))
        take_same_again(by=by, sheet=as_set, key=Key("ride-height", "LF"), seen=OVER_ANYTHING)
        again = correct_sheet(by=by, sheet=close_sheet(by=by, sheet=as_set), reason="Misread.")
        before = _links()
    with connections["owner"].cursor() as owner:
        owner.execute(FORGET)
        owner.execute(CARRIED)
    with viewing_as(by.pk):
        assert _links() == before
        marked = Reading.objects.filter(sheet=again, carried_from__isnull=False)
        assert {row.spot for row in marked} == {"RF", "car"}


def _links() -> dict[Any, Any]:
    return dict(Reading.objects.values_list("pk", "carried_from"))
