from collections.abc import Iterable
from typing import Any

from django.db import models

from clubsetup.access.ids import new_id

MADE = "created_at"


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
