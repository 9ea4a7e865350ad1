"""The chain of an event's records as it is kept, for the export and the record book.

Lines are copied, never built anew from the records' columns: a column that has another name or
another value tomorrow alters no line and no hash.
"""

import json
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.db.models import QuerySet

from cars.models import Measure
from clubsetup.access.models import User
from events.models import (
    BallastPhoto,
    Entry,
    Event,
    RecordChain,
    RecordLine,
    ScaleCheck,
    ScaleSet,
)
from events.rules.chain import ChainLink, last_hash


@dataclass(frozen=True)
class ChainEnd:
    """How many records an event has, and the hash that stands for all of them."""

    length: int
    last_hash: str
    last_at: datetime | None  # when the last line was entered


@dataclass(frozen=True)
class Records:
    """The chain of an event's records, and the names that belong to the ids in it."""

    head: dict[str, Any]
    links: list[ChainLink]
    entries: dict[str, Entry]
    people: dict[str, str]
    things: dict[str, str]  # scales and measures

    @property
    def last_hash(self) -> str:
        """What is printed in the record book."""
        return last_hash(self.head, self.links)

    def shown(self, link: ChainLink) -> dict[str, str]:
        """Number, name, class and by whom, for the reader; not covered by the hash."""
        entry = self.entries.get(str(link.record.get("entry", "")))
        return {
            "number": entry.number if entry else "",
            "name": entry.display_name if entry else "",
            "class": str(entry.event_class) if entry else "",
            "by": self.people.get(str(link.record["by"]), ""),
        }


def chain_end(event: Event) -> ChainEnd:
    """Where the chain ends now: two queries, however long it is."""
    chain = RecordChain.objects.get(event=event)
    last = RecordLine.objects.filter(chain=chain, place=chain.length).first()
    return ChainEnd(chain.length, chain.last_hash, last.created_at if last else None)


def records_of(event: Event) -> Records:
    """Every line in its place: few queries.

    All lines come of one statement. Each save holds the chain until it is visible, so whoever sees
    a line sees all before it, and a later export begins with all of an earlier one.
    """
    lines = RecordLine.objects.filter(chain__event=event).order_by("place")
    links = [ChainLink(json.loads(one.text), one.hash, one.text, one.words) for one in lines]
    entries = Entry.objects.filter(event=event).select_related("event_class__race_class")
    by = {str(link.record["by"]) for link in links}
    return Records(
        head=json.loads(RecordChain.objects.get(event=event).head),
        links=links,
        entries={str(entry.pk): entry for entry in entries},
        people={str(user.pk): str(user) for user in User.objects.filter(pk__in=by)},
        things={
            **{str(one.pk): str(one) for one in ScaleSet.objects.filter(club_id=event.club_id)},
            **{one.pk: str(one) for one in Measure.objects.all()},
        },
    )


def scale_checks_of(event: Event) -> QuerySet[ScaleCheck]:
    """The scale checks in its chain, by the time they were made."""
    lines = RecordLine.objects.filter(chain__event=event, kind="scale_check")
    checks = ScaleCheck.objects.filter(pk__in=lines.values("record_id"))
    return checks.order_by("created_at", "pk")


def photos_of(event: Event) -> Iterator[BallastPhoto]:
    """The event's photos with their pictures, a few at a time."""
    photos = BallastPhoto.objects.filter(entry__event=event).defer("small")
    yield from photos.order_by("created_at", "pk").iterator(chunk_size=10)
