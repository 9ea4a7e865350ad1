"""Which entries runs belong to and may belong to, for the pages and the API of runs."""

from collections.abc import Collection, Mapping
from uuid import UUID

from django.db.models import Q

from cars.runs.queries.entries_of_cars import EntryOffered, OfCar
from cars.runs.queries.run_entries import RunEntry
from clubsetup.access.errors import is_allowed
from clubsetup.access.models import User
from events.models import Entry, EntryRun, Event
from events.permissions import check_can_change_entry


def entries_of_runs(runs: Collection[UUID]) -> dict[UUID, RunEntry]:
    """Of each run that belongs to one, by the run's id."""
    rows = list(EntryRun.objects.current().filter(run__in=runs).select_related("entry"))
    # Apart: of another club's event whoever is not in that club reads the entry alone.
    seen = Event.objects.in_bulk({row.entry.event_id for row in rows}) if rows else {}
    return {row.run_id: RunEntry(row.entry_id, _text(row.entry, seen)) for row in rows}


def entries_of_car(viewer: User, asked: OfCar) -> list[EntryOffered]:
    """The entries of the car that stand in events of these days, which the viewer may change."""
    on_days = Q(
        withdrawn_at=None, event__starts_on__lte=asked.last, event__ends_on__gte=asked.first
    )
    rows = Entry.objects.filter(on_days | Q(pk=asked.tied), car=asked.car, team=asked.team)
    rows = rows.select_related("event__club", "event__track").order_by("event__starts_on", "id")
    return [
        EntryOffered(row.pk, _text(row, {row.event_id: row.event}), row.event.track)
        for row in rows
        if is_allowed(check_can_change_entry, viewer, row)
    ]


def _text(entry: Entry, seen: Mapping[UUID, Event]) -> str:
    number = f"number {entry.number}"
    event = seen.get(entry.event_id)
    return f"{event}, {number}" if event else number


PROVIDERS = (entries_of_runs,)
