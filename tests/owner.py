"""What a test does to rows as the owner, in its own transaction: nobody else could."""

import json
from typing import Any

from django.db import connection, connections, models


def let_tests_act_as_the_owner() -> None:
    """The owner's part, once a run: in the tests' database alone, in a schema of its own."""
    with connections["owner"].cursor() as cursor:
        cursor.execute(
            "CREATE SCHEMA IF NOT EXISTS tests; GRANT USAGE ON SCHEMA tests TO PUBLIC;"
            "CREATE OR REPLACE FUNCTION tests.as_owner(statement text) RETURNS bigint "
            "LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$ "
            "DECLARE touched bigint; BEGIN EXECUTE statement; "
            "GET DIAGNOSTICS touched = ROW_COUNT; RETURN touched; END $$;"
            "CREATE OR REPLACE FUNCTION tests.rows(name text) RETURNS SETOF text "
            "LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$ "
            "BEGIN RETURN QUERY EXECUTE "
            "format('SELECT to_jsonb(t)::text FROM %I t ORDER BY 1', name); END $$"
        )


def as_owner(statement: str, *given: Any) -> int:
    """Runs one statement as the owner; how many rows it touched."""
    with connection.cursor() as cursor:
        ops: Any = connection.ops
        text = ops.compose_sql(statement, given)
        cursor.execute("SELECT tests.as_owner(%s)", [text])
        return int(cursor.fetchone()[0])


def rows_as_owner(table: str) -> list[dict[str, Any]]:
    """All rows of a table, as JSON has them."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT * FROM tests.rows(%s)", [table])
        return [json.loads(row[0]) for row in cursor.fetchall()]


def bend(row: models.Model, **columns: Any) -> None:
    """Writes columns of a row that the service never changes; the row in hand has them too."""
    fields = {name: row._meta.get_field(name) for name in columns}
    sets = ", ".join(f"{field.column} = %s" for field in fields.values())  # type: ignore[union-attr]
    given = {n: v.pk if isinstance(v, models.Model) else v for n, v in columns.items()}
    values = [fields[n].get_db_prep_save(v, connection) for n, v in given.items()]  # type: ignore[union-attr]
    table = row._meta.db_table
    assert as_owner(f"UPDATE {table} SET {sets} WHERE id = %s", *values, row.pk) == 1
    for name, value in columns.items():
        setattr(row, name, value)
