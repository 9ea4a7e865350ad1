from collections.abc import Collection, Iterable
from typing import Any, Self, TypeVar
from uuid import UUID

from django.db import models
from django.db.models import Q

from clubsetup.access.ids import new_id

MADE = "created_at"
M = TypeVar("M", bound=models.Model)


class RowQuerySet(models.QuerySet[M]):
    """Rows by whose they are, which is a list's way to an index; the wall is row security."""

    def of_teams(self, teams: Collection[UUID]) -> Self:
        """Those of these teams."""
        return self.filter(team_id__in=teams)

    def of_clubs(self, clubs: Collection[UUID]) -> Self:
        """Those of these clubs."""
        return self.filter(club_id__in=clubs)

    def of_teams_or_clubs(self, teams: Collection[UUID], clubs: Collection[UUID]) -> Self:
        """Those of these teams, and those of these clubs."""
        return self.filter(Q(team_id__in=teams) | Q(club_id__in=clubs))


class Row(models.Model):
    """What every kept thing has: an id made by its maker, and when it reached the server."""

    id = models.UUIDField(primary_key=True, default=new_id, editable=False)
    created_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        abstract = True

    def save(self, *args: Any, update_fields: Iterable[str] | None = None, **kwargs: Any) -> None:
        """As Django's, and never writes again when a row was made.

        `update_or_create` names that column on its own; the role may not change it.
        """
        if update_fields is not None:
            update_fields = [name for name in update_fields if name != MADE]
        super().save(*args, update_fields=update_fields, **kwargs)
