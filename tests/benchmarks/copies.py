"""Makes three hundred clubs of the demo's one, and an old car of one of its cars, by SQL alone.

Rows are copied by INSERT ... SELECT as the superuser. The columns come from the models, so a new
one is copied too. An id becomes another by a function of the id and of the number of the copy; what
points at a row, by a key or by a plain id as the trail does, goes through the same function, so
that nothing need be looked up.

An id keeps the time it begins with. In the order of ids the rows of all clubs so lie side by side,
as those of three hundred clubs that write on the same evenings do.
"""

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from typing import Any, TypeAlias

import psycopg
from django.apps import apps
from django.contrib.postgres.fields import ArrayField
from django.db import models

from cars.models import Sheet
from clubsetup.access.models import TrailLine

# The demo has two seasons of a club of nine cars, 225 sheets; every club gets two seasons more.
PASTS_OF_A_CLUB = 1
DAYS_OF_THE_DEMO = 730
# 24 closed sheets a car: with 16 pasts it has 409, and 204 plans, over ten seasons.
PASTS_OF_AN_OLD_CAR, DAYS_APART = 16, 210
MANY_ROWS = 100_000
MS_A_DAY = 86_400_000
IS_MOVED = "IN (SELECT id FROM past.moved)"
Field: TypeAlias = "models.Field[Any, Any]"
Model = type[models.Model]

# The first six bytes of a time-ordered id are its time (RFC 9562, version 7); the last four are
# chance, and there a copy has its number.
FUNCTIONS = """
CREATE OR REPLACE FUNCTION copied(id uuid, number integer) RETURNS uuid
LANGUAGE sql IMMUTABLE PARALLEL SAFE RETURN
encode(overlay(uuid_send(id) PLACING int4send(number) FROM 13), 'hex')::uuid;
CREATE OR REPLACE FUNCTION earlier(id uuid, ms bigint) RETURNS uuid
LANGUAGE sql IMMUTABLE PARALLEL SAFE RETURN
(lpad(to_hex(('x' || left(encode(uuid_send(id), 'hex'), 12))::bit(48)::bigint - ms), 12, '0')
|| substr(encode(uuid_send(id), 'hex'), 13))::uuid;
CREATE SCHEMA IF NOT EXISTS past;
"""


def run(there: psycopg.Connection, query: str, *values: Any) -> psycopg.Cursor:
    """A statement made of our own models' names."""
    return there.execute(query, values or None)


@contextmanager
def loading(url: str) -> Iterator[psycopg.Connection]:
    """As the superuser, for whom neither keys nor triggers are checked: the rows fit as copied."""
    with psycopg.connect(url, autocommit=True) as there:
        for setting in ("fsync = off", "full_page_writes = off", "max_wal_size = '8GB'"):
            run(there, f"ALTER SYSTEM SET {setting}")
        run(there, "SELECT pg_reload_conf()")
        run(there, "SET session_replication_role = replica")
        run(there, "SET maintenance_work_mem = '512MB'")
        run(there, FUNCTIONS)
        yield there
        run(there, "DROP SCHEMA past CASCADE")
        run(there, "DROP FUNCTION copied, earlier")
        run(there, "VACUUM ANALYZE")


def add_past(there: psycopg.Connection, car: Any, pasts: int = PASTS_OF_AN_OLD_CAR) -> None:
    """Ten seasons of one car: its closed sheets and all that hangs on them, again and again."""
    _note_moved(there, "AND car_id = %s", car)
    past: list[Model] = [*_below_sheets(), TrailLine]
    for model in past:
        for number in range(1, pasts + 1):
            into = f"INSERT INTO {_table(model)} ({_names(model)})"
            # As they were written: in the order of a join a sheet would lie scattered.
            run(there, f"{into} {_earlier_rows(model, number * DAYS_APART)} ORDER BY id")


def add_clubs(
    there: psycopg.Connection, club: Any, clubs: int, pasts: int = PASTS_OF_A_CLUB
) -> None:
    """So many clubs with the one that is there, each with the seasons of that one and as many
    again for each past."""
    _note_moved(there)
    past: list[Model] = [*_below_sheets(), TrailLine] if pasts else []
    for model in past:
        into = f"CREATE UNLOGGED TABLE past.{_table(model)} AS"
        rows = (_earlier_rows(model, number * DAYS_OF_THE_DEMO) for number in range(1, pasts + 1))
        run(there, f"{into} {' UNION ALL '.join(rows)}")
    for model in copied_models():
        _copy(there, model, club, clubs - 1, with_past=model in past)


def broken_keys(there: psycopg.Connection) -> list[str]:
    """The keys of which some row points at none; while loading nothing checks them."""
    keys = run(
        there,
        "SELECT conname, conrelid::regclass::text, confrelid::regclass::text, "
        "(SELECT array_agg(format('(x.%%I = y.%%I)', a.attname, b.attname)) "
        " FROM unnest(conkey, confkey) AS k(here, there) "
        " JOIN pg_attribute a ON a.attrelid = conrelid AND a.attnum = here "
        " JOIN pg_attribute b ON b.attrelid = confrelid AND b.attnum = k.there), "
        "(SELECT array_agg(format('x.%%I IS NOT NULL', attname)) FROM pg_attribute "
        " WHERE attrelid = conrelid AND attnum = ANY (conkey)) "
        "FROM pg_constraint WHERE contype = %s",
        "f",
    )
    found = []
    for name, table, target, pairs, given in keys.fetchall():
        met = f"EXISTS (SELECT FROM {target} y WHERE {' AND '.join(pairs)})"
        where = " AND ".join([*given, f"NOT {met}"])
        if run(there, f"SELECT 1 FROM {table} x WHERE {where} LIMIT 1").fetchone():
            found.append(f"{table} {name}")
    return found


def copied_models() -> list[Model]:
    """All that have an id of their maker's, and what belongs to one of those."""
    every = [model for model in apps.get_models() if model._meta.managed]
    found = {model for model in every if isinstance(model._meta.pk, models.UUIDField)}
    while more := {
        model
        for model in set(every) - found
        if isinstance(model._meta.pk, models.AutoField)
        and any(_points_at(field) in found for field in _columns(model))
    }:
        found |= more
    return [model for model in every if model in found]


def _below_sheets() -> list[Model]:
    """Sheets, and what has a key to one of them or to something that has; parents first."""
    found: list[Model] = [Sheet]
    while more := [
        model
        for model in apps.get_models()
        if model not in found and any(_points_at(field) in found for field in _columns(model))
    ]:
        found += more
    return found


def _note_moved(there: psycopg.Connection, which: str = "", *values: Any) -> None:
    """The ids of the rows that get a past, in past.moved."""
    run(there, "DROP TABLE IF EXISTS past.moved")
    closed = f"SELECT id FROM {_table(Sheet)} WHERE state = 'closed' {which}"
    if values:
        run(there, "CREATE TABLE past.moved (id uuid)")
        run(there, f"INSERT INTO past.moved {closed}", *values)
    else:
        run(there, f"CREATE TABLE past.moved AS {closed}")
    below = _below_sheets()
    for model in below[1:]:
        keys = [
            str(field.column)
            for field in _columns(model)
            if _points_at(field) in below and _points_at(field) is not model
        ]
        its_own = " AND ".join(
            f"({key} IS NULL OR {key} IN (SELECT id FROM past.moved))" for key in keys
        )
        some = f"coalesce({', '.join(keys)}) IS NOT NULL"
        run(
            there,
            f"INSERT INTO past.moved SELECT id FROM {_table(model)} WHERE {some} AND {its_own}",
        )
    on_them = "WHERE on_id IN (SELECT id FROM past.moved)"
    run(there, f"INSERT INTO past.moved SELECT id FROM {_table(TrailLine)} {on_them}")
    run(there, "ANALYZE past.moved")


def _earlier_rows(model: Model, days: int) -> str:
    """The moved rows of a table, so many days earlier: their ids, their days, their times."""
    columns = ", ".join(_earlier(field, days) for field in _columns(model))
    return f"SELECT {columns} FROM {_table(model)} WHERE id {IS_MOVED}"


def _earlier(field: Field, days: int) -> str:
    name = f'"{field.column}"'
    if isinstance(field, models.DateTimeField):
        return f"{name} - interval '{days} days' AS {name}"
    if isinstance(field, models.DateField):
        return f"{name} - {days} AS {name}"
    ms = days * MS_A_DAY
    moved = f"CASE WHEN {{0}} {IS_MOVED} THEN earlier({{0}}, {ms}) ELSE {{0}} END"
    if _is_id(field):
        return f"{moved.format(name)} AS {name}"
    if _are_ids(field):
        return f"{_each(name, moved.format('one'))} AS {name}"
    return name


def _copy(
    there: psycopg.Connection, model: Model, club: Any, copies: int, *, with_past: bool
) -> None:
    table, names = _table(model), _names(model)
    source = f"SELECT {names} FROM {table}"
    if with_past:
        source += f" UNION ALL SELECT {names} FROM past.{table}"
    where = _of_club(model, club)
    columns = ", ".join(_copied(there, field) for field in _columns(model))
    order = "id" if _is_id(model._meta.pk) else "1"
    many = run(there, f"SELECT count(*) FROM ({source}) s").fetchone()
    is_large = bool(many and many[0] * copies > MANY_ROWS)
    if is_large:  # indices built afterwards, in one go, cost a fraction
        _rest_indices(there, table)
    run(
        there,
        f"INSERT INTO {table} ({names}) SELECT {columns} FROM (SELECT s.*, "
        f"generate_series(1, {copies}) AS copy_number FROM (SELECT * FROM ({source}) s {where} "
        f"ORDER BY {order}) s) s",
    )
    if is_large:
        run(there, f"REINDEX TABLE {table}")


def _rest_indices(there: psycopg.Connection, table: str) -> None:
    """Until REINDEX nothing is written to them."""
    change = "UPDATE pg_index SET indisready = false, indisvalid = false"
    run(there, f"{change} WHERE indrelid = %s::regclass", table)


def _of_club(model: Model, club: Any) -> str:
    """Not the rows of the demo's second club, which is all but empty."""
    if model._meta.label == "teams.Club":
        return f"WHERE id = '{club}'"
    named = {str(field.column) for field in _columns(model)}
    return f"WHERE club_id IS NULL OR club_id = '{club}'" if "club_id" in named else ""


def _copied(there: psycopg.Connection, field: Field) -> str:
    name, points_at = f's."{field.column}"', _points_at(field)
    if _is_id(field) and (points_at is None or points_at in copied_models()):
        return f"copied({name}, copy_number)"
    if _are_ids(field):
        return _each(name, "copied(one, copy_number)")
    if isinstance(field, models.CharField) and not points_at and _once_in_all(there, field):
        return f"left(copy_number || '-' || {name}, {field.max_length})"
    return name


def _once_in_all(there: psycopg.Connection, field: Field) -> bool:
    """Whether two clubs may not have the same text in this column."""
    model = field.model
    ids = {str(other.column) for other in _columns(model) if _is_id(other) or _points_at(other)}
    unique = run(
        there,
        "SELECT array_agg(a.attname::text) FROM pg_index i JOIN pg_attribute a "
        "ON a.attrelid = i.indrelid AND a.attnum = ANY (i.indkey) "
        "WHERE i.indisunique AND i.indrelid = %s::regclass GROUP BY i.indexrelid",
        _table(model),
    )
    return any(field.column in names and not ids & set(names) for (names,) in unique)


def _each(name: str, of_one: str) -> str:
    rows = f"unnest({name}) WITH ORDINALITY AS each(one, place)"
    return f"ARRAY(SELECT {of_one} FROM {rows} ORDER BY place)"


def _columns(model: Model) -> Sequence[Field]:
    """All that a row is written with; of an id that the database numbers, not that."""
    fields = model._meta.concrete_fields
    return [f for f in fields if not (isinstance(f, models.AutoField) or f.generated)]


def _names(model: Model) -> str:
    return ", ".join(f'"{field.column}"' for field in _columns(model))


def _table(model: Model) -> str:
    return model._meta.db_table


def _points_at(field: Field) -> Model | None:
    found = field.remote_field
    return found.model if found else None


def _is_id(field: Any) -> bool:
    target = field.target_field if field.remote_field else field
    return isinstance(target, models.UUIDField)


def _are_ids(field: Field) -> bool:
    return isinstance(field, ArrayField) and isinstance(field.base_field, models.UUIDField)
