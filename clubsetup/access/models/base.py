from django.db import models

from clubsetup.access.ids import new_id


class Row(models.Model):
    """What every kept thing has: an id made by its maker, and when it reached the server."""

    id = models.UUIDField(primary_key=True, default=new_id, editable=False)
    created_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        abstract = True
