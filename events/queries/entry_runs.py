"""Which entries runs belong to, for the pages and the API of runs."""

from collections.abc import Collection, Mapping
from uuid import UUID

from cars.runs.queries.run_entries import RunEntry
from events.models import Entry, EntryRun, Event


def entries_of_runs(runs: Collection[UUID]) -> dict[UUID, RunEntry]:
    """Of each run that belongs to one, by the run's id."""
    rows = list(EntryRun.objects.current().filter(run__in=runs).select_related("entry"))
    # Apart: of another club's event whoever is not in that club reads the entry alone.
    seen = Event.objects.in_bulk({row.entry.event_id for row in rows}) if rows else {}
    return {row.run_id: RunEntry(row.entry_id, _text(row.entry, seen)) for row in rows}


def _text(entry: Entry, seen: Mapping[UUID, Event]) -> str:
    number = f"number {entry.number}"
    event = seen.get(entry.event_id)
    return f"{event}, {number}" if event else number


PROVIDERS = (entries_of_runs,)
