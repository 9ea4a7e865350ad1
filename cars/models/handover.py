from datetime import datetime
from typing import Self

from django.contrib.postgres.fields import ArrayField
from django.db import models
from django.db.models import Q
from django.utils import timezone

from cars.models.car import Car
from cars.models.chassis import Chassis
from cars.models.run import Run
from cars.models.sheet import Sheet
from clubsetup.access.models import Row, RowQuerySet, User
from clubsetup.access.row_security import (
    RowSecurity,
    SameParent,
    all_of,
    any_of,
    in_teams,
    viewer_is,
)
from clubsetup.clock.writing import day
from teams.models import Team


class HandoverQuerySet(RowQuerySet["Handover"]):
    """Handovers offered, and some of them taken."""

    def open(self, now: datetime | None = None) -> Self:
        """Those that somebody with the code can still take."""
        return self.filter(
            taken_at__isnull=True,
            withdrawn_at__isnull=True,
            expires_at__gt=now or timezone.now(),
        )


class Handover(Row):
    """A car offered to whoever is given the code, with what goes along: read by both chiefs first.

    What the receiver sees is `package`, made of what the giver's chief read, and nothing else of
    the giver's crosses to the other team.
    """

    class History(models.TextChoices):
        ALL = "all", "All closed sheets"
        SET = "set", "Sheets as set only"
        NONE = "none", "None"

    car = models.ForeignKey(Car, on_delete=models.PROTECT, related_name="handovers")
    # The team that gives it.
    team = models.ForeignKey(Team, on_delete=models.PROTECT, related_name="+", db_index=False)
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    history = models.CharField(max_length=4, choices=History.choices)
    # What was ticked one by one: 'note:<sheet>', 'comment:<comment>', ...
    ticked = ArrayField(models.CharField(max_length=60), default=list, blank=True)
    package = models.JSONField()
    digest = models.CharField(max_length=64, unique=True)
    expires_at = models.DateTimeField()
    withdrawn_at = models.DateTimeField(null=True, blank=True)
    taken_at = models.DateTimeField(null=True, blank=True)
    taken_by = models.ForeignKey(
        User, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    to_team = models.ForeignKey(
        Team, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    # Its name as the giver is told it, who may not read the row.
    to_name = models.CharField(max_length=80, blank=True)
    # The car as it was taken: what differs from it the receiver has written.
    taken_as = models.JSONField(default=dict, blank=True)
    # Where the receiver made the chassis of what came along.
    made_chassis = models.ForeignKey(
        Chassis, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    taken_back_at = models.DateTimeField(null=True, blank=True)

    objects = HandoverQuerySet.as_manager()

    class Meta:
        ordering = ["-id"]
        indexes = [models.Index(fields=["team", "id"], name="handover_of_team")]
        constraints = [
            models.UniqueConstraint(
                fields=["car"],
                condition=Q(taken_at__isnull=True, withdrawn_at__isnull=True),
                name="handover_one_open",
            ),
            models.CheckConstraint(
                condition=Q(
                    taken_at__isnull=True,
                    taken_by__isnull=True,
                    to_team__isnull=True,
                    taken_back_at__isnull=True,
                )
                | Q(taken_at__isnull=False, taken_by__isnull=False, to_team__isnull=False),
                name="handover_taken_at_with_by_and_team",
            ),
            models.CheckConstraint(
                condition=Q(taken_at__isnull=True) | Q(withdrawn_at__isnull=True),
                name="handover_taken_or_withdrawn",
            ),
            models.CheckConstraint(
                condition=Q(history__in=["all", "set", "none"]), name="handover_history_known"
            ),
            RowSecurity(
                name="handover",
                # The two chiefs' alone.
                read=any_of(in_teams("chief"), in_teams("chief", "to_team_id")),
                add=all_of(
                    in_teams("chief"),
                    viewer_is("by_id"),
                    "taken_at IS NULL",
                    "EXISTS (SELECT FROM cars_car c WHERE c.id = car_id"
                    " AND c.team_id = cars_handover.team_id)",
                ),
                # Taken and taken back by functions alone.
                change=in_teams("chief"),
                change_columns=["withdrawn_at"],
            ),
        ]

    def __str__(self) -> str:
        return f"Handover {day(timezone.localtime(self.created_at))}"

    @property
    def state(self) -> str:
        """Offered, expired, withdrawn, taken or taken-back."""
        if self.taken_back_at:
            return "taken-back"
        if self.taken_at:
            return "taken"
        if self.withdrawn_at:
            return "withdrawn"
        return "offered" if self.expires_at > timezone.now() else "expired"


class HandedSheet(Row):
    """Where a sheet that came with a car is from, and what came with it as text.

    What belongs to the other club or team has no row here: it stands by name in `content`.
    """

    sheet = models.OneToOneField(Sheet, on_delete=models.PROTECT, related_name="handed")
    team = models.ForeignKey(Team, on_delete=models.PROTECT, related_name="+", db_index=False)
    # Empty where it came with an archive: the handover itself was another service's.
    handover = models.ForeignKey(
        Handover, on_delete=models.PROTECT, null=True, blank=True, related_name="sheets"
    )
    # The giver's sheet: an id, and no key, for the receiver may not read the row.
    source = models.UUIDField()
    content = models.JSONField()

    objects = RowQuerySet["HandedSheet"].as_manager()

    class Meta:
        indexes = [
            models.Index(fields=["team", "id"], name="handed_sheet_of_team"),
            models.Index(fields=["source"], name="handed_sheet_by_source"),
        ]
        constraints = [
            SameParent(
                name="handed_sheet_team", parent="sheet_id", shared="team_id", to="cars_sheet"
            ),
            RowSecurity(name="handed_sheet", read=in_teams("reader"), add=in_teams("crew")),
        ]

    def __str__(self) -> str:
        return f"Handed over: {self.sheet_id}"


class HandedRun(Row):
    """Where a run that came with a car is from, and what came with it as text."""

    run = models.OneToOneField(Run, on_delete=models.PROTECT, related_name="handed")
    team = models.ForeignKey(Team, on_delete=models.PROTECT, related_name="+", db_index=False)
    # Empty where it came with an archive: the handover itself was another service's.
    handover = models.ForeignKey(
        Handover, on_delete=models.PROTECT, null=True, blank=True, related_name="runs"
    )
    # The giver's run: an id, and no key, for the receiver may not read the row.
    source = models.UUIDField()
    content = models.JSONField()

    objects = RowQuerySet["HandedRun"].as_manager()

    class Meta:
        indexes = [
            models.Index(fields=["team", "id"], name="handed_run_of_team"),
            models.Index(fields=["source"], name="handed_run_by_source"),
        ]
        constraints = [
            SameParent(name="handed_run_team", parent="run_id", shared="team_id", to="cars_run"),
            RowSecurity(name="handed_run", read=in_teams("reader"), add=in_teams("crew")),
        ]

    def __str__(self) -> str:
        return f"Handed over: {self.run_id}"
