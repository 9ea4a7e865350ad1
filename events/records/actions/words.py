"""Erasing what officials wrote in words about a record; the record and its chain stand."""

from django.db import connection, transaction

from clubsetup.access.actions import action, record
from clubsetup.access.errors import Invalid
from clubsetup.access.models import User
from clubsetup.printing import store
from events.models import Event
from teams.permissions import check_can_steward


@action
def erase_words(*, by: User, event: Event, line: int) -> None:
    """Of one line of the event's chain, by a steward of the club; for good."""
    check_can_steward(by, event.club)
    with connection.cursor() as cursor:
        cursor.execute("SELECT access.erase_words(%s, %s)", [event.pk, line])
        row = cursor.fetchone()
    if not row or row[0] is None:
        raise Invalid(
            "line",
            "This line has no words that can be erased: there is none of that number, it never had "
            "any, they were erased before, or it is of a format that holds them itself.",
        )
    files: list[str] = row[0]
    record(by=by, did="erased_words", on=event, club_id=event.club_id, line=line)
    transaction.on_commit(lambda: store.remove(files))
