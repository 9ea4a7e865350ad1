from typing import Self, TypeVar

from django.db import models

from clubsetup.access.models import RowQuerySet

M = TypeVar("M", bound=models.Model)


class ReplacedRows(RowQuerySet[M]):
    """Rows that are replaced by others and never changed: readings, parts fitted, own targets."""

    def current(self) -> Self:
        """Those that nobody has replaced."""
        return self.filter(replaced_at__isnull=True)

    def at(self, measure: str, spot: str, take: int) -> Self:
        """Those of one box."""
        return self.filter(measure=measure, spot=spot, take=take)
