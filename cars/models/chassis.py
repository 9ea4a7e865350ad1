from django.db import models

from clubsetup.access.models import Row, RowQuerySet
from clubsetup.access.row_security import RowSecurity, in_clubs
from teams.models import Club


class Chassis(Row):
    """A make and model of chassis as the club knows it."""

    club = models.ForeignKey(Club, on_delete=models.PROTECT, related_name="chassis")
    name = models.CharField(max_length=60)
    # The fields of cars.mechanics.Chassis, canonical units; checked by making one.
    geometry = models.JSONField(default=dict, blank=True)
    note = models.TextField(blank=True)

    objects = RowQuerySet["Chassis"].as_manager()

    class Meta:
        ordering = ["name"]
        verbose_name_plural = "chassis"
        constraints = [
            models.UniqueConstraint(fields=["club", "name"], name="chassis_name_once_a_club"),
            RowSecurity(
                name="chassis",
                read=in_clubs("member"),
                add=in_clubs("steward"),
                change=in_clubs("steward"),
                change_columns=["name", "geometry", "note"],
            ),
        ]

    def __str__(self) -> str:
        return self.name
