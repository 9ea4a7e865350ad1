"""Rows of an archive into their tables, many at once, as whoever the connection looks as."""

import json
from collections.abc import Callable, Iterable, Mapping
from typing import Any

from django.contrib.postgres.fields import ArrayField
from django.db import DatabaseError, connections
from django.db.models import Field, ForeignKey, JSONField, UUIDField

from cars.exchange.files.archive_input import FIELD, Rows
from cars.exchange.queries.archive_kinds import ArchiveKind
from clubsetup.access.errors import Invalid
from clubsetup.access.models import User

AT_ONCE = 1000
Given = Mapping[str, Any]
# What is settled last: nothing can be added to a sheet that is closed, or to what is published.
SETTLED: dict[str, dict[str, Any]] = {
    "sheets": {"state": "open", "closed_at": None, "closed_by": None},
    "suggestion_tables": {"state": "draft", "published_at": None, "published_by": None},
    "baselines": {"state": "draft", "published_at": None, "published_by": None},
}


class ArchiveRows:
    """Writes rows of an archive under other ids, or under the same ones."""

    def __init__(
        self,
        using: str,
        whose: Given,
        id_of: Callable[[str], str | None],
        person: Callable[[str], str],
    ) -> None:
        """`whose` are the columns that say whose each row is (`team_id`, `club_id`). `id_of` is
        the id here of a row there (None where it is left out), `person` that of somebody."""
        self._using, self._whose = using, whose
        self._id_of, self._person = id_of, person

    def add(self, kind: ArchiveKind, rows: Rows) -> None:
        """Adds them; what is settled of them comes with `settle`."""
        open_ = SETTLED.get(kind.name, {})
        self._run(kind, [self.here(kind, {**row, **open_}) for row in rows], _insert)

    def settle(self, kind: ArchiveKind, rows: Rows) -> None:
        """Closes what was closed, publishes what was published."""
        names = SETTLED[kind.name]
        settled = [row for row in rows if any(row[name] != names[name] for name in names)]
        columns = [str(one.column) for one in kind.columns if one.name in names]
        self._run(
            kind,
            [self.here(kind, row) for row in settled],
            lambda table, _: _update(table, columns),
        )

    def here(self, kind: ArchiveKind, row: Given) -> dict[str, Any]:
        """The row as its table has it here."""
        columns = {str(one.column) for one in kind.model._meta.concrete_fields} & kind.whose
        named = {str(one.column): self._value(kind, one, row[one.name]) for one in kind.columns}
        return {**named, **{name: pk for name, pk in self._whose.items() if name in columns}}

    def _value(self, kind: ArchiveKind, column: "Field[Any, Any]", value: Any) -> Any:
        if value is None or (kind.name == "imported_archives" and isinstance(column, JSONField)):
            return value
        if isinstance(column, ForeignKey):
            if column.related_model is User:
                return self._person(value)
            return value if column.name == "measure" else self._id_of(value)
        if isinstance(column, ArrayField) and isinstance(column.base_field, UUIDField):
            return [self._id_of(one) or one for one in value]
        if column.primary_key:
            return self._id_of(value)
        return self._within(value) if isinstance(column, JSONField) else value

    def _within(self, value: Any) -> Any:
        """Ids that stand somewhere in JSON."""
        if isinstance(value, dict):
            return {name: self._within(one) for name, one in value.items()}
        if isinstance(value, list):
            return [self._within(one) for one in value]
        return (self._id_of(value) or value) if isinstance(value, str) else value

    def _run(
        self,
        kind: ArchiveKind,
        rows: list[dict[str, Any]],
        statement: Callable[[str, Iterable[str]], str],
    ) -> None:
        table = kind.model._meta.db_table
        with connections[self._using].cursor() as cursor:
            for start in range(0, len(rows), AT_ONCE):
                chunk = rows[start : start + AT_ONCE]
                cursor.execute(statement(table, chunk[0]), [json.dumps(chunk)])


def _insert(table: str, columns: Iterable[str]) -> str:
    names = ", ".join(f'"{name}"' for name in columns)
    # Each text becomes the type of its column.
    return (
        f'INSERT INTO "{table}" ({names}) '  # noqa: S608  (names of columns)
        f'SELECT {names} FROM jsonb_populate_recordset(NULL::"{table}", %s::jsonb)'
    )


def _update(table: str, columns: Iterable[str]) -> str:
    sets = ", ".join(f'"{name}" = given."{name}"' for name in columns)
    return (
        f'UPDATE "{table}" AS kept SET {sets} '  # noqa: S608  (names of columns)
        f'FROM jsonb_populate_recordset(NULL::"{table}", %s::jsonb) AS given '
        "WHERE kept.id = given.id"
    )


def check_whole(using: str) -> None:
    """All that is checked at the end of a transaction, now."""
    with connections[using].cursor() as cursor:
        cursor.execute("SET CONSTRAINTS ALL IMMEDIATE")
        cursor.execute("SET CONSTRAINTS ALL DEFERRED")


def refused(problem: DatabaseError) -> Invalid:
    """What the database would not keep, in words; its own stay in the log."""
    diagnosis = getattr(problem.__cause__, "diag", None)
    rule = getattr(diagnosis, "constraint_name", None) or "a rule of its table"
    return Invalid(
        FIELD,
        f"The archive does not hold together, or not with what is here ({rule}). Nothing was kept.",
    )
