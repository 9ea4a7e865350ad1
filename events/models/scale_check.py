from django.db import models

from clubsetup.access.models import Row, RowQuerySet, User
from clubsetup.access.row_security import (
    RowSecurity,
    SameParent,
    all_of,
    in_clubs,
    viewer_is,
)
from clubsetup.quantities import bounds
from clubsetup.quantities.kinds import Kind
from clubsetup.site.model_fields import QuantityField
from events.models.scales import ScaleSet
from teams.models import Club


class ScaleCheck(Row):
    """The day's look at a scale set with reference masses on it; never changed by anybody.

    A mistake is mended by a new check: the newest one stands. `device_at`: the device's clock, if
    made off line.
    """

    scale_set = models.ForeignKey(ScaleSet, on_delete=models.PROTECT, related_name="checks")
    club = models.ForeignKey(Club, on_delete=models.PROTECT, related_name="+", db_index=False)
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    device_at = models.DateTimeField(null=True, blank=True)
    # The step of one display then: the set's may be written anew.
    division = QuantityField(kind=Kind.MASS, limits=bounds.DIVISION)
    pads_level = models.BooleanField()
    level_note = models.CharField(max_length=60, blank=True)
    # For each load, in order: {"pad": "LF", "reference", "indicated", "added", "error",
    # "allowed", "u" (kg as text; added may be null), "within", "typed": {...}}. One row, so that
    # nothing can be added to a check once it was made.
    loads = models.JSONField()
    passed = models.BooleanField()

    objects = RowQuerySet["ScaleCheck"].as_manager()

    class Meta:
        ordering = ["-created_at"]
        indexes = [
            models.Index(fields=["club", "id"], name="scale_check_of_club"),
            models.Index(fields=["scale_set", "-created_at"], name="scale_check_newest"),
        ]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(pads_level=True) | models.Q(passed=False),
                name="scale_check_passes_level_only",
            ),
            SameParent(
                name="scale_check_club",
                parent="scale_set_id",
                shared="club_id",
                to="events_scaleset",
            ),
            # A family may see what its weigh-in rests on.
            RowSecurity(
                name="scale_check",
                read=in_clubs("member"),
                add=all_of(in_clubs("official"), viewer_is("by_id")),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.scale_set}, {'passed' if self.passed else 'failed'}"
