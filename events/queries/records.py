"""All official records of an event, in order, for the export and the record book."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from decimal import Decimal
from typing import Any
from uuid import UUID

from django.db.models import BinaryField, Model, Q

from clubsetup.access.models import User
from events.models import (
    BallastCheck,
    BallastPhoto,
    Entry,
    Event,
    Finding,
    ScaleCheck,
    TechReading,
    Void,
    WeighIn,
)
from events.rules.chain import FORMAT, Link, chained, last_hash

OF_ENTRIES: dict[str, type[Model]] = {
    "weigh_in": WeighIn,
    "ballast_check": BallastCheck,
    "ballast_photo": BallastPhoto,
    "tech_reading": TechReading,
    "finding": Finding,
    "void": Void,
}
EMPTY: tuple[Any, ...] = (None, "", {}, [])


@dataclass(frozen=True)
class Records:
    """The chain of an event's records, and the names that belong to the ids in it."""

    head: dict[str, Any]
    links: list[Link]
    entries: dict[str, Entry]
    people: dict[str, str]

    @property
    def last_hash(self) -> str:
        """What is printed in the record book."""
        return last_hash(self.head, self.links)

    @property
    def last_at(self) -> datetime | None:
        """When the last record reached the server."""
        if not self.links:
            return None
        return datetime.fromisoformat(str(self.links[-1].record["created_at"]))

    def shown(self, link: Link) -> dict[str, str]:
        """Number, name, class and by whom, for the reader; not covered by the hash."""
        entry = self.entries.get(str(link.record.get("entry", "")))
        return {
            "number": entry.number if entry else "",
            "name": entry.display_name if entry else "",
            "class": str(entry.event_class) if entry else "",
            "by": self.people.get(str(link.record["by"]), ""),
        }


def records_of(event: Event) -> Records:
    """Every record that the viewer may see, by the time it reached the server: few queries.

    The order is that of (created_at, id), which never changes, so that a later export begins
    with all of an earlier one.
    """
    rows = [(kind, row) for kind, model in OF_ENTRIES.items() for row in _rows(model, event)]
    rows += [("draw", row) for row in event.draws.all()]
    rows += [("scale_check", row) for row in scale_checks_of(event)]
    rows.sort(key=lambda pair: (pair[1].created_at, pair[1].pk))
    head = {"format": FORMAT, "event": str(event.pk), "club": str(event.club_id)}
    entries = Entry.objects.filter(event=event).select_related("event_class__race_class")
    by = {row.by_id for _, row in rows}
    return Records(
        head=head,
        links=chained(head, (_record(kind, row) for kind, row in rows)),
        entries={str(entry.pk): entry for entry in entries},
        people={str(user.pk): str(user) for user in User.objects.filter(pk__in=by)},
    )


def scale_checks_of(event: Event) -> Iterable[ScaleCheck]:
    """The checks that its weigh-ins rest on, and all others of the club on its days."""
    rested_on = WeighIn.objects.filter(entry__event=event, scale_check__isnull=False)
    days = Q(created_at__date__gte=event.starts_on, created_at__date__lte=event.ends_on)
    return ScaleCheck.objects.filter(
        Q(pk__in=rested_on.values("scale_check")) | days, club_id=event.club_id
    ).order_by("created_at", "pk")


def photos_of(event: Event) -> Iterator[BallastPhoto]:
    """The event's photos with their pictures, a few at a time."""
    photos = BallastPhoto.objects.filter(entry__event=event).defer("small")
    yield from photos.order_by("created_at", "pk").iterator(chunk_size=10)


def _rows(model: type[Model], event: Event) -> Iterator[Any]:
    pictures = [f.name for f in model._meta.concrete_fields if isinstance(f, BinaryField)]
    yield from model._default_manager.filter(entry__event=event).defer(*pictures)


def _record(kind: str, row: Any) -> dict[str, Any]:
    """Everything the row holds, as JSON writes it, ids in place of what they name.

    What is empty or 'no' is left out, so that a column added to a table later does not alter the
    lines of events that are over. Of a picture the line holds the hash.
    """
    fields = [f for f in row._meta.concrete_fields if not isinstance(f, BinaryField)]
    held = {field.name: getattr(row, field.attname) for field in fields}
    return {
        "kind": kind,
        **{name: _plain(v) for name, v in held.items() if v is not False and v not in EMPTY},
    }


def _plain(value: Any) -> Any:
    if isinstance(value, datetime):
        return value.astimezone(UTC).isoformat(timespec="microseconds")
    if isinstance(value, Decimal):
        return f"{value.normalize():f}"
    if isinstance(value, UUID):
        return str(value)
    return value
