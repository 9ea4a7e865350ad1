from django.db import models
from django.db.models import Q

from clubsetup.access.models import Row, RowQuerySet, User
from clubsetup.access.row_security import (
    RowSecurity,
    SameParent,
    all_of,
    in_clubs,
    viewer_is,
)
from events.models.event import Event, EventClass
from events.models.record_chain import InChain
from teams.models import Club


class Draw(Row):
    """Cars drawn for a check by a seed that everybody heard; never changed by anybody.

    It holds numbers alone, as they stand on the start list, and the club's members may read it, so
    that they can repeat it. `device_at`: the device's clock, if made off line.
    """

    event = models.ForeignKey(Event, on_delete=models.PROTECT, related_name="draws")
    club = models.ForeignKey(Club, on_delete=models.PROTECT, related_name="+", db_index=False)
    # Empty: among all classes.
    event_class = models.ForeignKey(
        EventClass, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    device_at = models.DateTimeField(null=True, blank=True)
    purpose = models.CharField(max_length=80)
    seed = models.CharField(max_length=80)
    method = models.CharField(max_length=200)
    candidates = models.JSONField(help_text="In the order of the start list.")
    drawn = models.JSONField(help_text="In the order of the draw.")

    objects = RowQuerySet["Draw"].as_manager()

    class Meta:
        ordering = ["-created_at"]
        indexes = [models.Index(fields=["club", "id"], name="draw_of_club")]
        constraints = [
            # Drawn again until it suits would be no draw.
            models.UniqueConstraint(fields=["event", "seed"], name="draw_seed_once_an_event"),
            models.CheckConstraint(condition=~Q(seed=""), name="draw_has_seed"),
            SameParent(name="draw_club", parent="event_id", shared="club_id", to="events_event"),
            SameParent(
                name="draw_class",
                parent="event_class_id",
                shared="event_id",
                to="events_eventclass",
            ),
            InChain(name="draw_in_chain"),
            RowSecurity(
                name="draw",
                read=in_clubs("member"),
                add=all_of(in_clubs("official"), viewer_is("by_id")),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.purpose}: {', '.join(self.drawn)}"
