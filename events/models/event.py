from django.db import models
from django.db.models import F, Q

from clubsetup.access.models import Row, RowQuerySet
from clubsetup.access.row_security import RowSecurity, SameParent, in_clubs
from events.models.rule_set import RuleSet, club_read_steward_write
from teams.models import Club, RaceClass, Track


class Event(Row):
    """A race weekend or a school day that a club holds at a track."""

    class State(models.TextChoices):
        PLANNED = "planned", "Planned"
        UNDER_WAY = "under_way", "Under way"
        OVER = "over", "Over"

    club = models.ForeignKey(Club, on_delete=models.PROTECT, related_name="events", db_index=False)
    track = models.ForeignKey(Track, on_delete=models.PROTECT, related_name="+")
    name = models.CharField(max_length=80)
    starts_on = models.DateField()
    ends_on = models.DateField()
    state = models.CharField(max_length=10, choices=State.choices, default=State.PLANNED)
    # Weights and findings that members of the club may see without being of the team.
    findings_published = models.BooleanField(default=False)

    objects = RowQuerySet["Event"].as_manager()

    class Meta:
        ordering = ["-starts_on", "name"]
        indexes = [
            models.Index(fields=["club", "id"], name="event_of_club"),
            models.Index(fields=["club", "-starts_on", "-id"], name="event_of_club_by_day"),
        ]
        constraints = [
            models.CheckConstraint(
                condition=Q(ends_on__gte=F("starts_on")), name="event_ends_after_start"
            ),
            SameParent(
                name="event_track_club", parent="track_id", shared="club_id", to="teams_track"
            ),
            club_read_steward_write("event", change_columns=["state", "findings_published"]),
        ]

    def __str__(self) -> str:
        return self.name


class EventClass(Row):
    """A class run at an event, with the version of its rules that the event froze."""

    event = models.ForeignKey(Event, on_delete=models.CASCADE, related_name="classes")
    club = models.ForeignKey(Club, on_delete=models.PROTECT, related_name="+", db_index=False)
    race_class = models.ForeignKey(RaceClass, on_delete=models.PROTECT, related_name="+")
    rule_set = models.ForeignKey(RuleSet, on_delete=models.PROTECT, related_name="+")

    objects = RowQuerySet["EventClass"].as_manager()

    class Meta:
        ordering = ["race_class__name"]
        verbose_name_plural = "event classes"
        indexes = [models.Index(fields=["club", "id"], name="event_class_of_club")]
        constraints = [
            models.UniqueConstraint(fields=["event", "race_class"], name="event_class_once"),
            SameParent(
                name="event_class_club", parent="event_id", shared="club_id", to="events_event"
            ),
            # Never changed: the version that was frozen stays.
            RowSecurity(
                name="event_class",
                read=in_clubs("member"),
                add=in_clubs("steward"),
                remove=in_clubs("steward"),
            ),
        ]

    def __str__(self) -> str:
        return str(self.race_class)
