"""Which entries runs belong to, for the pages and the API of runs."""

from collections.abc import Collection
from uuid import UUID

from cars.runs.queries.run_entries import RunEntry
from events.models import EntryRun


def entries_of_runs(runs: Collection[UUID]) -> dict[UUID, RunEntry]:
    """Of each run that belongs to one, by the run's id."""
    rows = EntryRun.objects.current().filter(run__in=runs).select_related("entry__event")
    return {
        row.run_id: RunEntry(row.entry_id, f"{row.entry.event}, number {row.entry.number}")
        for row in rows
    }


PROVIDERS = (entries_of_runs,)
