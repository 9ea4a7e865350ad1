"""What a fixture makes by the actions, made by them once and put back for every other test.

The actions check, write, read again and note in the trail: a tenth of a second for a garage, and a
thousand tests want one. So they are run once, in a transaction that is undone; what they wrote is
kept, and put back in one statement, as rows that held every check when they were made. The objects
come as copies, so that what a test does to them no other test sees.
"""

from collections.abc import Callable, Iterator
from copy import deepcopy
from dataclasses import fields, is_dataclass
from typing import Any, Generic, TypeVar

import psycopg
from django.db import connection, transaction

from tests.standing_people import standing_people

T = TypeVar("T")

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


class MadeOnce(Generic[T]):
    """What `make` makes of the people, and of what stands `on` them already.

    It is made where it is first asked for, before any test's own clock or settings, so in a
    fixture of a module or of the session.
    """

    def __init__(self, make: Callable[..., T], *on: "MadeOnce[Any]") -> None:
        people = standing_people()
        with transaction.atomic():
            given = [people, *(each.again(people) for each in on)]
            mark = _answer("INSERT INTO tests.marks VALUES (1) RETURNING xmin::text")
            before = _answer("SELECT tests.removed()")
            made = make(*given)
            self._rows = _answer("SELECT tests.written_since(%s)", int(mark))
            removed = _answer("SELECT tests.removed()") - before
            assert not removed, f"{removed} rows were removed, which cannot be put back"
            transaction.set_rollback(True)
        self._given, self._made = given, made

    def again(self, *given: Any) -> T:
        """The rows are there, in the test's own transaction; the objects are about `given`."""
        _answer("SELECT tests.put_back(%s)::text", self._rows)
        same = {
            id(one): other
            for whole in zip(self._given, given, strict=True)
            for one, other in _parts(*whole)
        }
        return deepcopy(self._made, same)


def _parts(one: Any, other: Any) -> Iterator[tuple[Any, Any]]:
    """The two, and what stands in them by the same name."""
    yield one, other
    if is_dataclass(one):
        for field in fields(one):
            yield from _parts(getattr(one, field.name), getattr(other, field.name))


def _answer(statement: str, *given: Any) -> Any:
    with connection.cursor() as cursor:
        cursor.execute(statement, given or None)
        return cursor.fetchone()[0]
