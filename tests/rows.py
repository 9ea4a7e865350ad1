"""Rows as a run wrote them once, put back in one statement.

They held every check when they were written, so none is asked again.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import psycopg
from django.db import connection

# Rows are known by the transaction that wrote them: each savepoint has a number of its own, and
# what is written after it a higher one.
FUNCTIONS = """
CREATE TABLE tests.marks (mark integer);
GRANT INSERT, SELECT ON tests.marks TO PUBLIC;
CREATE FUNCTION tests.written_since(since bigint) RETURNS text
LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp AS $$
DECLARE
  place regclass; rows text; names text; key text; changes text; found text[] := '{}';
BEGIN
  FOR place IN SELECT oid FROM pg_class
    WHERE relkind = 'r' AND relnamespace = 'public'::regnamespace ORDER BY oid
  LOOP
    EXECUTE format('SELECT array_agg(t)::text FROM %s t WHERE xmin::text::bigint >= $1', place)
      INTO rows USING since;
    CONTINUE WHEN rows IS NULL;
    SELECT string_agg(quote_ident(attname), ', ' ORDER BY attnum),
      string_agg(format('%1$I = EXCLUDED.%1$I', attname), ', ')
      INTO names, changes FROM pg_attribute
      WHERE attrelid = place AND attnum > 0 AND NOT attisdropped AND attgenerated = '';
    SELECT string_agg(quote_ident(attname), ', ') INTO STRICT key
      FROM pg_index JOIN pg_attribute ON attrelid = indrelid AND attnum = ANY (indkey)
      WHERE indrelid = place AND indisprimary;
    found := found || format(
      'INSERT INTO %1$s (%2$s) OVERRIDING SYSTEM VALUE SELECT %2$s FROM unnest(%3$L::%1$s[]) '
      'ON CONFLICT (%4$s) DO UPDATE SET %5$s', place, names, rows, key, changes);
  END LOOP;
  RETURN array_to_string(found, ';');
END $$;
CREATE FUNCTION tests.removed() RETURNS bigint LANGUAGE sql SECURITY DEFINER AS
  'SELECT sum(n_tup_del)::bigint FROM pg_stat_xact_user_tables';
CREATE FUNCTION tests.put_back(statement text) RETURNS void
LANGUAGE plpgsql SECURITY DEFINER SET search_path = public, pg_temp
SET session_replication_role = replica AS $$ BEGIN EXECUTE statement; END $$;
"""


def let_tests_put_rows_back(superuser: str) -> None:
    """The superuser's part, once a run: in the tests' database alone."""
    with psycopg.connect(superuser, autocommit=True) as there:
        there.execute(FUNCTIONS)


class Rows:
    """What was written in a block; `put_back` writes it again, wherever it is gone."""

    def __init__(self) -> None:
        self._statement = ""

    @contextmanager
    def written(self) -> Iterator[None]:
        """What the block writes; it may remove nothing, for that cannot be put back."""
        mark = int(_answer("INSERT INTO tests.marks VALUES (1) RETURNING xmin::text"))
        before = _answer("SELECT tests.removed()")
        yield
        removed = _answer("SELECT tests.removed()") - before
        assert not removed, f"{removed} rows were removed, which cannot be put back"
        self._statement = _answer("SELECT tests.written_since(%s)", mark)

    def put_back(self) -> None:
        """In the transaction that is open, if there is one."""
        _answer("SELECT tests.put_back(%s)::text", self._statement)


def _answer(statement: str, *given: Any) -> Any:
    with connection.cursor() as cursor:
        cursor.execute(statement, given or None)
        return cursor.fetchone()[0]
