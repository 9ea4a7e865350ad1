"""A team's own entries, newest first."""

from collections.abc import Collection
from uuid import UUID

from django.db.models import QuerySet

from events.models import Entry


def entries_of(teams: Collection[UUID]) -> QuerySet[Entry]:
    """The entries of these teams, the newest first."""
    entries = Entry.objects.of_teams(teams).order_by("-id")
    return entries.select_related("event", "event_class__race_class", "team")
