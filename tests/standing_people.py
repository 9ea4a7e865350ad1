"""The people of a run: made once and committed; every test finds them and undoes the rest.

After a test that commits they are put back as they were, by the same ids: what hangs on them in
tests/made_once.py is put back too.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from copy import deepcopy

from django.db import connections

from tests.people import People, make_people
from tests.rows import Rows

_made: list[tuple[People, Rows]] = []


def make_standing_people() -> None:
    """Empties the tables, in which a test may have committed, and makes them or puts them back."""
    _empty_tables()
    if _made:
        _made[0][1].put_back()
    else:
        rows = Rows()
        with rows.written():
            people = make_people()
        _made.append((people, rows))
    connections.close_all()


def _empty_tables() -> None:
    connections["default"].close()
    with connections["owner"].cursor() as owner:
        owner.execute("SET lock_timeout = '20s'")
        owner.execute("TRUNCATE access_user, teams_club CASCADE")
    connections.close_all()


def standing_people() -> People:
    """Their rows as they were made; what a test does to these objects no other test sees."""
    return deepcopy(_made[0][0])


@contextmanager
def committed_people() -> Iterator[People]:
    """For a test that commits what it does: the owner empties the tables afterwards."""
    try:
        yield standing_people()
    finally:
        make_standing_people()


@contextmanager
def nobody_there() -> Iterator[None]:
    """For tests of a service in which nobody has an account yet."""
    try:
        _empty_tables()
        yield
    finally:
        make_standing_people()
