"""Who from outside a team read what is a child's: told to the team in its trail."""

from collections.abc import Iterable
from uuid import UUID

from django.db import models

from clubsetup.access.models import User
from clubsetup.access.outside_reads import note_read, note_reads
from teams.models import Team
from teams.queries.roles import roles_of


def note_reader(reader: User, team_id: UUID, on: models.Model) -> None:
    """Leaves the line of who read `on`, a row of the team's: one statement, and none where the
    reader is of the team. The database keeps one line for each reader, thing and day."""
    if not roles_of(reader).is_member(team_id):
        note_read(team_id=team_id, on=on)


def note_readers(reader: User, team_ids: Iterable[UUID]) -> None:
    """The same of a list of rows: one line for each team whose rows were in it."""
    roles = roles_of(reader)
    outside = {team_id for team_id in team_ids if not roles.is_member(team_id)}
    note_reads(on_kind=Team._meta.label_lower, team_ids=outside)
