"""The rows of an import, made by the actions that everybody's runs and sheets are made by."""

from collections.abc import Sequence

from django.core.cache import cache

from cars.exchange.queries.import_progress import progress_key
from cars.exchange.queries.import_rows import RowRead
from cars.mechanics.laps import mark_laps
from cars.models import Import
from cars.runs.actions.runs import RunFacts, TimedLaps, note_run
from cars.runs.queries.cars_then import CarsThen
from cars.sheets.actions.conflicts import OVER_ANYTHING
from cars.sheets.actions.readings import take_readings
from cars.sheets.actions.sheets import close_sheet, open_sheet
from clubsetup.access.errors import Invalid, WrongState
from clubsetup.access.models import User
from clubsetup.quantities.errors import QuantityError

TOLD_EVERY = 20  # rows
PROGRESS_KEPT = 3600  # seconds


def write_rows(by: User, row: Import, made: Sequence[RowRead]) -> int:
    """All of them, in one transaction; how many. Raises Invalid with the row that is refused."""
    write = _write_run if row.kind == Import.Kind.RUNS else _write_sheet
    then = CarsThen(row.team, by)
    for done, each in enumerate(made):
        if done % TOLD_EVERY == 0:
            # Beside the transaction, so that others see it before the end.
            cache.set(progress_key(row.pk), (done, len(made)), PROGRESS_KEPT)
        try:
            write(by, row, each, then)
        except (Invalid, QuantityError, WrongState) as refused:
            raise Invalid("rows", f"Row {each.number}: {refused}") from refused
    return len(made)


def _write_run(by: User, row: Import, each: RowRead, then: CarsThen) -> None:
    laps = None
    if each.laps:
        marks = mark_laps([float(time) for time in each.laps], None)
        written = [(mark or "").replace(" ", "-") for mark in marks]
        typed = "\n".join(each.lap_cells)
        laps = TimedLaps(each.laps, written, each.timed_by, typed)
    facts = RunFacts(**each.facts)
    assert each.ran_at is not None  # noqa: S101 (every run that was read has its moment)
    # Of a run whose time is made up, what held all day.
    stood = (then.at if each.clock else then.all_day)(each.car, each.ran_at)
    note_run(
        by=by,
        car=each.car,
        facts=facts,
        laps=laps,
        ran_at=each.ran_at,
        stood=stood,
        from_import=row,
    )


def _write_sheet(by: User, row: Import, each: RowRead, _then: CarsThen) -> None:
    facts = {**each.facts}
    role = facts.pop("role")
    sheet = open_sheet(by=by, car=each.car, role=role, made_on=each.when, from_import=row, **facts)
    take_readings(by=by, sheet=sheet, entries=each.entries, seen=OVER_ANYTHING)
    close_sheet(by=by, sheet=sheet)
