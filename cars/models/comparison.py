from django.contrib.postgres.fields import ArrayField
from django.db import models

from clubsetup.access.models import Row, RowQuerySet, User
from clubsetup.access.row_security import RowSecurity, all_of, viewer_is

# Each of them, as the viewer may see it now: a finished print is fetched by this, too.
_EACH_IS_SEEN = (
    "NOT EXISTS (SELECT FROM unnest(sheets) AS one(sheet) WHERE NOT EXISTS"
    " (SELECT FROM cars_sheet s WHERE s.id = one.sheet))"
)


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
            RowSecurity(
                name="comparison",
                read=all_of(viewer_is("by_id"), _EACH_IS_SEEN),
                add=all_of(viewer_is("by_id"), _EACH_IS_SEEN),
            ),
        ]

    def __str__(self) -> str:
        return f"{len(self.sheets)} sheets side by side"
