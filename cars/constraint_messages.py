"""What the database refuses because it is settled, said to the person who tried."""

from collections.abc import Iterator
from contextlib import contextmanager

import psycopg
from django.db import IntegrityError

from clubsetup.access.errors import WrongState
from clubsetup.access.idempotency import TAKEN

MESSAGES = {
    "sheet_is_closed": "This sheet is closed and stays as it is. Correct it to make a new version.",
    "baseline_is_published": (
        "This baseline is published and stays as it is. Copy it to a new version and change that."
    ),
    "suggestion_table_version_once": (
        "Somebody drafted a version at the same moment. Look at the list: theirs stands there."
    ),
    "cars_reading_pkey": TAKEN,
}


@contextmanager
def constraint_messages() -> Iterator[None]:
    """Turns the database's refusals into WrongState; anything else passes through."""
    try:
        yield
    except IntegrityError as error:
        cause = error.__cause__
        name = cause.diag.constraint_name if isinstance(cause, psycopg.Error) else None
        if name in MESSAGES:
            raise WrongState(MESSAGES[name]) from error
        raise
