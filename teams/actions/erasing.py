"""Erasing what is kept of a driver, at the family's word."""

from django.db import connection, transaction

from clubsetup.access.actions import action, record
from clubsetup.access.errors import WrongState
from clubsetup.access.models import User
from clubsetup.printing import store
from teams.may import check_can_lead
from teams.models import Driver


@action
def erase_driver(*, by: User, driver: Driver) -> None:
    """For good, by a chief of the team. Official records keep number and display name.

    One function of the database does it all, past the locks of closed sheets and in rows that the
    chief does not see. The trail says that it happened, and of which id.
    """
    check_can_lead(by, driver.team)
    record(by=by, did="erased", on=driver, team_id=driver.team_id)
    with connection.cursor() as cursor:
        cursor.execute("SELECT access.erase_driver(%s)", [driver.pk])
        row = cursor.fetchone()
    if row is None or row[0] is None:
        raise WrongState("This driver was erased before.")
    files: list[str] = row[0]
    transaction.on_commit(lambda: store.remove(files))
