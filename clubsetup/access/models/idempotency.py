from django.db import models

from clubsetup.access.models.base import Row
from clubsetup.access.row_security import RowSecurity, viewer_is


class IdempotencyKey(Row):
    """What was sent to make a row under an id its sender chose; the key has the same id.

    It lets a client that never saw the answer send again and get the row it made.
    """

    by = models.ForeignKey("access.User", on_delete=models.CASCADE, related_name="+")
    digest = models.CharField(max_length=64)

    class Meta:
        constraints = [
            RowSecurity(
                name="own_idempotency_keys", read=viewer_is("by_id"), add=viewer_is("by_id")
            )
        ]

    def __str__(self) -> str:
        return str(self.pk)
