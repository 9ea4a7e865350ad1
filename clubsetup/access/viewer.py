"""Who is looking: set for one transaction, read by every policy.

The setting is local to its transaction, so it cannot leak to the next request on a pooled
connection. With none set `access.viewer()` is NULL and every policy answers no. It is signed
(signing.py): whoever set it without the service's key is nobody.

Beside it stands who is signing in: the one person, or the one address, whose account the sign-in
code is looking at before anybody is the viewer.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from uuid import UUID

from django.db import connection, transaction

from clubsetup.access import signing

VIEWER = "clubsetup.viewer"
SIGNING_IN = "clubsetup.signing_in"
INVITATION = "clubsetup.invitation"


def set_local(name: str, value: str) -> None:
    """Sets a setting for the rest of the open transaction."""
    _check_open(name)
    with connection.cursor() as cursor:
        cursor.execute("SELECT set_config(%s, %s, true)", [name, value])


def set_viewer(user_id: UUID | None) -> None:
    """From here to the end of the transaction, `user_id` is looking (None: nobody)."""
    _check_open(VIEWER)
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT set_config(%s, %s, true), access.viewer()", [VIEWER, _viewer(user_id)]
        )
        _check_taken(user_id, cursor.fetchone()[1])


def begin(user_id: UUID | None, signing_in: UUID | None, browser: str) -> bool:
    """At the start of a request: who is looking, and whose sign-in is half done.

    Says whether this `browser`, named by the digest of its session's key, is handed over.
    """
    _check_open(VIEWER)
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT set_config(%s, %s, true), set_config(%s, %s, true), access.viewer(), "
            "access.is_handed_over(%s)",
            [VIEWER, _viewer(user_id), SIGNING_IN, _person(signing_in), browser],
        )
        _, _, taken, is_handed_over = cursor.fetchone()
        _check_taken(user_id, taken)
        return bool(is_handed_over)


def sign_in_person(user_id: UUID | None) -> None:
    """From here to the end of the transaction the sign-in code sees this person's account."""
    set_local(SIGNING_IN, _person(user_id))


def sign_in_address(address: str) -> None:
    """From here on the sign-in code sees the accounts of this address, and may make one."""
    value = f"address {address.strip().lower()}"
    set_local(SIGNING_IN, signing.signed(signing.SIGNING_IN, value))


def sign_in_address_row(row: int) -> None:
    """As `sign_in_address`, of the address kept under this number."""
    set_local(SIGNING_IN, signing.signed(signing.SIGNING_IN, f"row {row}"))


@contextmanager
def signing_in(*, person: UUID | None = None, address: str = "") -> Iterator[None]:
    """A transaction in which the account of one person or of one address is open."""
    with transaction.atomic():
        if address:
            sign_in_address(address)
        else:
            sign_in_person(person)
        yield
        sign_in_person(None)


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


@contextmanager
def one_moment() -> Iterator[None]:
    """A transaction that reads everything as it stood at one moment, whoever writes meanwhile.

    Inside another transaction it is that one, as it is.
    """
    is_outermost = not connection.in_atomic_block
    with transaction.atomic():
        if is_outermost:
            with connection.cursor() as cursor:
                cursor.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ")
        yield


def invitation_opens() -> bool:
    """Whether the invitation whose digest this transaction shows would let its holder in."""
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT EXISTS (SELECT FROM access.club_invitations()) "
            "OR EXISTS (SELECT FROM access.team_invitations())"
        )
        row = cursor.fetchone()
    return bool(row and row[0])


def _check_open(name: str) -> None:
    if not connection.in_atomic_block:
        raise RuntimeError(f"{name} is set for a transaction; there is none open.")


def _check_taken(meant: UUID | None, taken: UUID | None) -> None:
    # Nobody would see anything, and no error would say why.
    if meant is not None and str(meant) != str(taken):
        raise signing.KeyUnknown


def _viewer(user_id: UUID | None) -> str:
    return signing.signed(signing.VIEWER, str(user_id)) if user_id else ""


def _person(user_id: UUID | None) -> str:
    return signing.signed(signing.SIGNING_IN, f"person {user_id}") if user_id else ""
