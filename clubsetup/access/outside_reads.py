"""What somebody from outside a team read of a child's stands in the team's trail."""

from collections.abc import Collection
from uuid import UUID

from django.db import connection, models


def note_read(*, team_id: UUID, on: models.Model) -> bool:
    """Writes 'read by the viewer' on `on`, a row of the team's; whether there is a new line.

    Once for each viewer, thing and day (UTC). Nothing for the team's own people. The database
    writes it: nobody else may write a line in a trail that is not theirs.
    """
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT access.note_read(%s, %s, %s)", [team_id, on._meta.label_lower, on.pk]
        )
        row = cursor.fetchone()
    return bool(row and row[0])


def note_reads(*, on_kind: str, team_ids: Collection[UUID]) -> None:
    """The same of whole teams, in one statement however many they are."""
    if not team_ids:
        return
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT access.note_read(team, %s, team) FROM unnest(%s::uuid[]) AS team",
            [on_kind, sorted(team_ids)],
        )
