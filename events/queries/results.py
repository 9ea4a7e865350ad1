"""A team's own entries, newest first."""

from collections.abc import Iterable
from uuid import UUID

from events.models import Entry


def newest_entries(team_ids: Iterable[UUID], *, newest: int) -> list[Entry]:
    """The newest entries of these teams: one query."""
    entries = Entry.objects.filter(team_id__in=list(team_ids))
    return list(
        entries.select_related("event", "event_class__race_class", "team").order_by(
            "-event__starts_on", "number"
        )[:newest]
    )
