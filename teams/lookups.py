"""Rows of a team that an address names, if whoever looks may see them; else 404."""

from typing import TypeVar
from uuid import UUID

from django.db.models import Model, QuerySet
from django.shortcuts import get_object_or_404

from clubsetup.access.models import User
from teams.queries.reads import note_reader

M = TypeVar("M", bound=Model)


def read_or_404(by: User, rows: QuerySet[M], pk: UUID) -> M:
    """One of a team's rows; a reader from outside stands in the team's trail."""
    row = get_object_or_404(rows, pk=pk)
    note_reader(by, row.team_id, row)  # type: ignore[attr-defined]
    return row
