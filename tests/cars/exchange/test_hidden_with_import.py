"""A withdrawn import hides every row that hangs on what it brought in, also from whoever asks for
those rows alone and never for the sheet or the run."""

from collections.abc import Iterator
from typing import Any

import pytest
from django.apps import apps
from django.db import connection
from django.db.models import ForeignKey, Model

from cars.exchange.actions.imports import withdraw_import
from cars.garage.actions.parts import add_part
from cars.models import (
    ClosedFigures,
    HandedRun,
    HandedSheet,
    Import,
    Laps,
    Outing,
    Reading,
    Run,
    RunDetails,
    Sheet,
)
from cars.models.imports import HangsOnImport
from cars.sheets.actions.comments import add_comment
from clubsetup.access.viewer import viewing_as
from tests.cars.exchange.importing import RUNS, SHEETS, brought_in
from tests.cars.garage import Garage
from tests.people import People

WHO = ["chief", "crew", "guest", "coach"]
# Why these hang on a sheet or a run and are not hidden with it.
NOT_HIDDEN = {
    Sheet: "a sheet has its own policy",
    Run: "a run has its own policy",
    Outing: "a coach's plan names a sheet, and while it does the import is not withdrawn",
    HandedRun: "stands at copies alone, which no import brought in",
    HandedSheet: "stands at copies alone, which no import brought in",
}


def hanging() -> Iterator[type[Model]]:
    """Models of rows that belong to a sheet or a run."""
    for model in apps.get_app_config("cars").get_models():
        keys = [one for one in model._meta.concrete_fields if isinstance(one, ForeignKey)]
        if any(one.name in {"sheet", "run"} and one.related_model in {Sheet, Run} for one in keys):
            yield model


@pytest.mark.django_db
def test_every_model_that_hangs_on_a_sheet_or_a_run_is_hidden_with_it() -> None:
    loose = {one for one in hanging() if not issubclass(one, HangsOnImport)}
    assert loose == NOT_HIDDEN.keys() - {Sheet}
    with connection.cursor() as cursor:
        cursor.execute("SELECT pg_get_functiondef('access.hide_rows_of(uuid)'::regprocedure)")
        written = cursor.fetchone()[0]
    for one in hanging():
        if issubclass(one, HangsOnImport):
            assert f"UPDATE {one._meta.db_table} " in written


def counts(who: Any) -> dict[str, int]:
    """How many rows of each of these somebody reads, asked for by themselves."""
    with viewing_as(who.pk):
        return {
            one.__name__: one._default_manager.count() for one in hanging() if one not in NOT_HIDDEN
        }


@pytest.mark.parametrize("who", WHO)
def test_readings_laps_and_all_the_rest_are_hidden_from_everybody(
    garage: Garage, people: People, who: str
) -> None:
    with viewing_as(people.crew.pk):
        add_part(by=people.crew, team=people.team, sort="spring", code="ochre")
        kept = garage.sheet(people.crew)
        add_comment(by=people.crew, sheet=kept, text="Ours.")
    before = counts(getattr(people, who))
    with viewing_as(people.crew.pk):
        runs = brought_in(people.crew, people.team, RUNS)
        sheets = brought_in(people.crew, people.team, SHEETS, "found")
    between = counts(getattr(people, who))
    for model in (Reading, ClosedFigures, RunDetails, Laps):
        assert between[model.__name__] > before[model.__name__], model
    with viewing_as(people.chief.pk):
        withdraw_import(by=people.chief, row=runs)
        withdraw_import(by=people.chief, row=sheets)
    assert counts(getattr(people, who)) == before


@pytest.mark.parametrize("who", ["chief", "guest", "coach"])
def test_no_kind_of_row_that_came_to_hang_on_it_is_read(
    garage: Garage, people: People, who: str
) -> None:
    """Withdrawn by hand, past the action that would have refused: the database hides it all."""
    with viewing_as(people.crew.pk):
        sheets = brought_in(people.crew, people.team, SHEETS, "set")
        sheet = Sheet.objects.filter(from_import=sheets).first()
        assert sheet is not None
        add_comment(by=people.crew, sheet=sheet, text="Looks low.")
    watching = getattr(people, who)
    assert counts(watching)["Comment"] == 1
    with viewing_as(people.chief.pk):
        Import.objects.filter(pk=sheets.pk).update(
            withdrawn_at=sheets.confirmed_at, withdrawn_by=people.chief
        )
    assert not any(counts(watching).values())


@pytest.mark.django_db
def test_nobody_but_the_database_hides_a_row_or_brings_it_back() -> None:
    for one in hanging():
        if issubclass(one, HangsOnImport):
            with connection.cursor() as cursor:
                table = one._meta.db_table
                cursor.execute("SELECT has_column_privilege(%s, 'withdrawn', 'UPDATE')", [table])
                assert cursor.fetchone() == (False,), one
