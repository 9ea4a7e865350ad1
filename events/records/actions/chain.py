"""The one way into an event's chain of records."""

import json
import secrets
from uuid import UUID

from django.db import connection
from django.db.models import Model

from clubsetup.access.errors import NotAllowed
from events.models import Event, ScaleCheck
from events.records.queries.lines import KIND_OF, WORDS, contents_of, not_entered
from events.rules.chain import hide_words, line_of

HOLD = "SELECT length FROM access.hold_chain(%s)"
APPEND = "SELECT access.append_lines(%s, %s, %s::uuid[], %s, %s::jsonb[])"


def enter_in_chain(event_id: UUID, *records: Model) -> None:
    """Part of an official's action, its last write: the lines of what it stored, in this order.

    From here to the end of the transaction nobody else enters anything in this event's chain, so
    that no line becomes visible before one that stands earlier. A scale check that a weigh-in rests
    on enters before it, where it is not there yet.
    """
    with connection.cursor() as cursor:
        cursor.execute(HOLD, [event_id])
        held = cursor.fetchone()
        if held is None:
            raise NotAllowed("Only an official of the club may do this.")
        entering = [*not_entered(event_id, records), *records]
        kinds = [KIND_OF[type(one)] for one in entering]
        lines, words = [], []
        for number, content in enumerate(contents_of(entering), start=held[0] + 1):
            hidden, erasable = hide_words(
                content, WORDS.get(content["kind"], ()), secrets.token_hex(32)
            )
            lines.append(line_of(hidden, number))
            words.append(None if erasable is None else json.dumps(erasable))
        ids = [one.pk for one in entering]
        cursor.execute(APPEND, [event_id, kinds, ids, lines, words])


def enter_where_under_way(check: ScaleCheck) -> None:
    """Part of an official's action: a check of the scales, in the chain of every event of the club
    that is under way; always in the same order, so that two never wait for each other."""
    events = Event.objects.filter(club_id=check.club_id, state=Event.State.UNDER_WAY)
    for event_id in events.order_by("pk").values_list("pk", flat=True):
        enter_in_chain(event_id, check)
