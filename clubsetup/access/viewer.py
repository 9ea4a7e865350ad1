"""Who is looking: set for one transaction, read by every policy.

The setting is local to its transaction, so it cannot leak to the next request on a pooled
connection. With none set `access.viewer()` is NULL and every policy answers no.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from uuid import UUID

from django.db import connection, transaction

VIEWER = "clubsetup.viewer"
INVITATION = "clubsetup.invitation"


def set_local(name: str, value: str) -> None:
    """Sets a setting for the rest of the open transaction."""
    if not connection.in_atomic_block:
        raise RuntimeError(f"{name} is set for a transaction; there is none open.")
    with connection.cursor() as cursor:
        cursor.execute("SELECT set_config(%s, %s, true)", [name, value])


def set_viewer(user_id: UUID | None) -> None:
    """From here to the end of the transaction, `user_id` is looking (None: nobody)."""
    set_local(VIEWER, str(user_id) if user_id else "")


def current_viewer() -> UUID | None:
    """Who is looking, as the database sees it."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT access.viewer()")
        row = cursor.fetchone()
    return row[0] if row else None


@contextmanager
def viewing_as(user_id: UUID | None) -> Iterator[None]:
    """A transaction in which `user_id` is looking; the one before it looks again afterwards."""
    with transaction.atomic():
        before = current_viewer()
        set_viewer(user_id)
        yield
        set_viewer(before)


def invitation_opens() -> bool:
    """Whether the invitation whose digest this transaction shows would let its holder in."""
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT EXISTS (SELECT FROM access.club_invitations()) "
            "OR EXISTS (SELECT FROM access.team_invitations())"
        )
        row = cursor.fetchone()
    return bool(row and row[0])
