"""Erasing what is kept of a driver, at the family's word, and of a person, at their own."""

from uuid import UUID

from django.db import connection, transaction

from clubsetup.access.account import set_my_colour_scheme
from clubsetup.access.actions import action, record
from clubsetup.access.errors import WrongState
from clubsetup.access.models import User
from clubsetup.printing import store
from teams.models import Driver
from teams.permissions import check_can_lead
from teams.queries.erasing import led_alone
from teams.queries.roles import forget_roles


@action
def erase_driver(*, by: User, driver: Driver) -> None:
    """For good, by a chief of the team. Official records keep number and display name.

    One function of the database does it all, past the locks of closed sheets and in rows that the
    chief does not see. The trail says that it happened, and of which id.
    """
    check_can_lead(by, driver.team)
    record(by=by, did="erased", on=driver, team_id=driver.team_id)
    files = _erase("SELECT access.erase_driver(%s)", driver.pk)
    if files is None:
        raise WrongState("This driver was erased before.")
    transaction.on_commit(lambda: store.remove(files))


@action
def erase_account(*, by: User) -> None:
    """For good, by the person alone. What they did stays done, by 'Erased person'.

    Refused while they are the only chief of a team or the only steward of a club.
    """
    if alone := led_alone(by):
        raise WrongState(" ".join(alone))
    set_my_colour_scheme(by=by, colour_scheme="")  # their own trail goes with the account
    files = _erase("SELECT access.erase_account()")
    forget_roles(by)
    record(by=by, did="erased", on=by)
    transaction.on_commit(lambda: store.remove(files or []))


def _erase(statement: str, *given: UUID) -> list[str] | None:
    """The files of prints to remove; None where there was nothing to erase."""
    with connection.cursor() as cursor:
        cursor.execute(statement, given)
        row = cursor.fetchone()
    return row[0] if row else None
