from django.contrib.postgres.fields import ArrayField
from django.db import models

from clubsetup.access.models import Row, RowQuerySet, User
from clubsetup.access.row_security import RowSecurity, viewer_is


class Comparison(Row):
    """Sheets that somebody printed side by side, the one that all are held against first.

    Holds ids alone: what they show is read anew for each print, as that person may see it then.
    """

    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    sheets = ArrayField(models.UUIDField(), size=12)

    objects = RowQuerySet["Comparison"].as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["by", "sheets"], name="comparison_once_a_person"),
            models.CheckConstraint(
                condition=models.Q(sheets__len__gte=2, sheets__len__lte=12),
                name="comparison_of_two_to_twelve",
            ),
            RowSecurity(name="comparison", read=viewer_is("by_id"), add=viewer_is("by_id")),
        ]

    def __str__(self) -> str:
        return f"{len(self.sheets)} sheets side by side"
