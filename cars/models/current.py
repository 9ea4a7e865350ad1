from typing import Self, TypeVar

from django.db import models
from django.db.models import Q

from clubsetup.access.models import Row, RowQuerySet, User

M = TypeVar("M", bound=models.Model)


class ReplacedRows(RowQuerySet[M]):
    """Rows that are replaced by others and never changed: readings, parts fitted, own targets."""

    def current(self) -> Self:
        """Those that nobody has replaced."""
        return self.filter(replaced_at__isnull=True)

    def at(self, measure: str, spot: str, take: int) -> Self:
        """Those of one box."""
        return self.filter(measure=measure, spot=spot, take=take)


class ReplacedRow(Row):
    """What somebody wrote once: never edited, only replaced by another row."""

    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    replaced_at = models.DateTimeField(null=True, blank=True)
    replaced_by = models.ForeignKey(
        User, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )

    class Meta:
        abstract = True


def replaced_at_with_by(name: str) -> models.CheckConstraint:
    """Who replaced a row stands beside when, or neither does."""
    return models.CheckConstraint(
        condition=Q(replaced_at__isnull=True, replaced_by__isnull=True)
        | Q(replaced_at__isnull=False, replaced_by__isnull=False),
        name=f"{name}_replaced_at_with_by",
    )
