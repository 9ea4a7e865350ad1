from collections.abc import Collection, Iterable
from typing import Any, Self, TypeVar
from uuid import UUID

from django.db import models
from django.db.models import Q

from clubsetup.access.ids import new_id

MADE = "created_at"
M = TypeVar("M", bound=models.Model)


class RowQuerySet(models.QuerySet[M]):
    """Rows by whose they are, which is a list's way to an index; the wall is row security.

    The first so many of several owners are taken from the first so many of each, every one by its
    own index; asked for all at once, the planner may walk the primary key past everybody's rows.
    """

    # Each row is of one of these owners or more; empty where that is not known.
    _owners: tuple[Q, ...] = ()

    def of_teams(self, teams: Collection[UUID]) -> Self:
        """Those of these teams."""
        return self._of(Q(team_id__in=teams), [Q(team_id=team) for team in teams])

    def of_clubs(self, clubs: Collection[UUID]) -> Self:
        """Those of these clubs."""
        return self._of(Q(club_id__in=clubs), [Q(club_id=club) for club in clubs])

    def of_teams_or_clubs(self, teams: Collection[UUID], clubs: Collection[UUID]) -> Self:
        """Those of these teams, and those of these clubs."""
        owners = [Q(team_id=team) for team in teams] + [Q(club_id=club) for club in clubs]
        return self._of(Q(team_id__in=teams) | Q(club_id__in=clubs), owners)

    def _of(self, whose: Q, owners: Iterable[Q]) -> Self:
        rows = self.filter(whose)
        rows._owners = tuple(owners)
        return rows

    def __getitem__(self, key: Any) -> Any:
        """As Django's; a slice of several owners' rows from a slice of each."""
        is_first_few = isinstance(key, slice) and key.stop is not None and key.step is None
        fetched = self._result_cache is not None or self.query.is_sliced
        if len(self._owners) < 2 or not is_first_few or fetched:
            return super().__getitem__(key)
        rows = self.all()
        rows._owners = ()
        first, *others = (rows.filter(one).values("pk")[: key.stop] for one in self._owners)
        return rows.filter(pk__in=first.union(*others, all=True))[key]

    def __or__(self, other: Any) -> Any:
        """As Django's; of the other's rows it is not known whose they are."""
        return self._of_anybody(super().__or__(other))

    def __xor__(self, other: Any) -> Any:
        """As `__or__`."""
        return self._of_anybody(super().__xor__(other))

    def union(self, *others: Any, all: bool = False) -> Any:  # Django's name
        """As `__or__`."""
        return self._of_anybody(super().union(*others, all=all))

    @staticmethod
    def _of_anybody(rows: Any) -> Any:
        rows._owners = ()
        return rows

    def _clone(self) -> Self:
        rows: Self = super()._clone()  # type: ignore[misc]
        rows._owners = self._owners
        return rows


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
