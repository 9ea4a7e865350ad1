"""Imports: a file read, its columns chosen, brought in whole or not, withdrawn as one."""

import hashlib
import json
from collections.abc import Sequence
from uuid import UUID

from django.db import transaction
from django.utils import timezone

from cars.exchange.actions.archive_background import bring_archive_in
from cars.exchange.actions.import_sending import send
from cars.exchange.actions.import_writing import write_rows
from cars.exchange.files.import_file import read_table
from cars.exchange.files.import_table import TableRefused
from cars.exchange.queries import import_places
from cars.exchange.queries.import_letters import column_name
from cars.exchange.queries.import_names import kept_name
from cars.exchange.queries.import_rows import (
    Problem,
    known_of,
    places_of,
    read_import,
    split_header,
)
from cars.exchange.queries.imports import (
    remembered,
    remembering,
    resting_on,
    same_brought_in,
)
from cars.models import Import, ImportColumns
from cars.permissions import check_can_import
from clubsetup.access.actions import action, record
from clubsetup.access.errors import Invalid, WrongState
from clubsetup.access.ids import new_id
from clubsetup.access.limits import count_against_limit
from clubsetup.access.models import User
from teams.models import Team
from teams.permissions import check_can_crew

IN_THE_REQUEST = 200  # rows; more are brought in by the worker
MOST_SAID = 5
TABLES = (Import.Kind.RUNS, Import.Kind.FOUND, Import.Kind.SET)


@action
def begin_import(
    *,
    by: User,
    team: Team,
    kind: str,
    file_name: str,
    content: bytes,
    timed_by: str = "",
    import_id: UUID | None = None,
) -> Import:
    """Reads a file and keeps its cells as a draft; nothing else changes."""
    check_can_crew(by, team)
    if kind not in TABLES:
        raise Invalid("kind", "Choose what the file holds: runs, sheets as found or as set.")
    if timed_by and timed_by not in Import.TimedBy.values:
        raise Invalid("timed_by", "Say who timed the laps: the track, or a hand.")
    count_against_limit(by, "imports")
    try:
        table = read_table(file_name, content)
    except TableRefused as refused:
        raise Invalid("file", str(refused)) from refused
    row = Import(
        pk=import_id or new_id(),
        team=team,
        by=by,
        kind=kind,
        timed_by=timed_by or Import.TimedBy.TRANSPONDER,
        file_name=kept_name(file_name),
        cells=[[number, cells] for number, cells in table.rows],
        flaws=[[flaw.row, flaw.column, flaw.message] for flaw in table.flaws],
        notes=table.notes,
        rows=0,
    )
    row.digest = hashlib.sha256(json.dumps(row.cells).encode()).hexdigest()
    places = places_of(row)
    header, rows, _ = split_header(row, places)
    row.rows = len(rows)
    row.columns = import_places.columns_of(header, rows, places, remembered(row), known_of(row))
    row.save(force_insert=True)
    record(by=by, did="read_file", on=row, team_id=team.pk, kind=kind, rows=row.rows)
    return row


@action
def choose_columns(*, by: User, row: Import, columns: Sequence[str]) -> Import:
    """What each column of a draft is for; the team's next file of this kind begins with it."""
    check_can_import(by, row)
    row = _held(row, Import.State.DRAFT)
    places = places_of(row)
    if len(columns) != len(row.columns):
        raise Invalid("columns", f"Say of each of the {len(row.columns)} columns what it is for.")
    unknown = next((name for name in columns if name and name not in places), None)
    if unknown is not None:
        raise Invalid("columns", f"No column can be for “{unknown[:40]}”.")
    row.columns = list(columns)
    row.save(update_fields=["columns"])
    _remember(row)
    record(by=by, did="chose_columns", on=row, team_id=row.team_id)
    return row


@action
def confirm_import(*, by: User, row: Import) -> Import:
    """Brings a draft without problems in, whole or not at all: at once, or above 200 rows by the
    worker. Raises Invalid with the problems where there are any."""
    check_can_import(by, row)
    row = _held(row, Import.State.DRAFT)
    if (same := same_brought_in(row)) is not None:
        raise WrongState(f"The same table was brought in already, as {same}. Withdraw that first.")
    _remember(row)
    row.problem, row.attempts = "", 0
    row.confirmed_at, row.confirmed_by = timezone.now(), by
    row.save(update_fields=["problem", "attempts", "confirmed_at", "confirmed_by"])
    record(by=by, did="confirmed", on=row, team_id=row.team_id, rows=row.rows)
    if row.rows > IN_THE_REQUEST:
        row.state, row.sent_at = Import.State.WAITING, timezone.now()
        row.save(update_fields=["state", "sent_at"])
        transaction.on_commit(lambda: send(row.pk))
        return row
    return bring_in(by=by, row=row)


@action
def bring_in(*, by: User, row: Import) -> Import:
    """Makes all runs or sheets of an import that is held; raises Invalid for the first problem."""
    check_can_import(by, row)
    if row.kind == Import.Kind.ARCHIVE:
        made = bring_archive_in(by, row)
    else:
        read = read_import(row, by)
        if read.problems:
            raise Invalid("rows", _in_short(read.problems))
        made = write_rows(by, row, read.made)
    row.state, row.made = Import.State.DONE, made
    row.cells, row.flaws, row.lease, row.leased_until = [], [], None, None
    row.save(update_fields=["state", "made", "cells", "flaws", "lease", "leased_until"])
    record(by=by, did="brought_in", on=row, team_id=row.team_id, made=made)
    return row


@action
def drop_import(*, by: User, row: Import) -> Import:
    """A draft that is not to be brought in; its cells are kept no longer."""
    check_can_import(by, row)
    row = _held(row, Import.State.DRAFT)
    row.state, row.cells, row.flaws = Import.State.DROPPED, [], []
    row.save(update_fields=["state", "cells", "flaws"])
    record(by=by, did="dropped", on=row, team_id=row.team_id)
    return row


@action
def withdraw_import(*, by: User, row: Import) -> Import:
    """Hides all that an import brought in. Raises WrongState with what rests on it."""
    check_can_import(by, row)
    row = _held(row, Import.State.DONE)
    if row.kind == Import.Kind.ARCHIVE:
        raise WrongState("An archive that came in stays: its rows are the team's own by now.")
    if row.withdrawn_at is not None:
        raise WrongState("This import is withdrawn already.")
    if resting := resting_on(row, by):
        more = len(resting) - MOST_SAID
        names = "; ".join([*resting[:MOST_SAID], *([f"and {more} more"] if more > 0 else [])])
        raise WrongState(f"It cannot be withdrawn: {names}.")
    row.withdrawn_at, row.withdrawn_by = timezone.now(), by
    row.save(update_fields=["withdrawn_at", "withdrawn_by"])
    record(by=by, did="withdrew", on=row, team_id=row.team_id, made=row.made)
    return row


def _held(row: Import, state: str) -> Import:
    row = Import.objects.select_for_update(of=("self",)).select_related("team__club").get(pk=row.pk)
    if row.state != state:
        raise WrongState(f"This import is in another state by now: {row.get_state_display()}.")
    return row


def _remember(row: Import) -> None:
    header, _, _ = split_header(row, places_of(row))
    places = remembering(remembered(row), header, row.columns)
    stood = ImportColumns.objects.filter(team=row.team_id, kind=row.kind)
    if not stood.update(places=places):
        ImportColumns.objects.create(team_id=row.team_id, kind=row.kind, places=places)


def _in_short(problems: Sequence[Problem]) -> str:
    said = " ".join(
        f"Row {each.row}"
        + (f", column {column_name(each.column)}" if each.column >= 0 else "")
        + f": {each.message}"
        for each in problems[:MOST_SAID]
    )
    more = len(problems) - MOST_SAID
    return f"{said} And {more} more." if more > 0 else said
