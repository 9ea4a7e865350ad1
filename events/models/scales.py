from django.db import models

from clubsetup.access.models import Row, RowQuerySet
from clubsetup.quantities import bounds
from clubsetup.quantities.kinds import Kind
from clubsetup.site.model_fields import QuantityField
from events.models.rule_set import club_read_steward_write
from teams.models import Club


class ScaleSet(Row):
    """A set of four pads or one platform that the club weighs with."""

    club = models.ForeignKey(Club, on_delete=models.PROTECT, related_name="scale_sets")
    name = models.CharField(max_length=40)
    pads = models.PositiveSmallIntegerField(
        choices=[(4, "Four pads"), (1, "One platform")], default=4
    )
    # What one pad's display steps by; with it stands the standard uncertainty of a reading.
    division = QuantityField(kind=Kind.MASS, limits=bounds.DIVISION)
    division_typed = models.CharField(max_length=40)
    # Weights count with the corrections of the day's check; otherwise these stand beside them.
    apply_corrections = models.BooleanField(default=False)

    objects = RowQuerySet["ScaleSet"].as_manager()

    class Meta:
        ordering = ["name"]
        constraints = [
            models.UniqueConstraint(fields=["club", "name"], name="scale_set_name_once_a_club"),
            models.CheckConstraint(
                condition=models.Q(division__gt=0), name="scale_set_division_positive"
            ),
            models.CheckConstraint(
                condition=models.Q(pads__in=[1, 4]), name="scale_set_pads_known"
            ),
            club_read_steward_write("scale_set", change_columns=["apply_corrections"]),
        ]

    def __str__(self) -> str:
        return self.name
