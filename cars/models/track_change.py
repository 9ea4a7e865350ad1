from typing import Self

from django.db import models
from django.db.models import Q
from django.utils import timezone

from cars.models.catalogue import Measure, Spot
from cars.models.current import ReplacedRow, ReplacedRows, replaced_at_with_by
from cars.models.imports import STANDS, HangsOnImport
from cars.models.sheet import Sheet
from clubsetup.access.models import Row, RowQuerySet, User
from clubsetup.access.row_security import RowSecurity, SameParent, all_of, in_teams, viewer_is
from teams.models import Team


class TrackChangeQuerySet(RowQuerySet["TrackChange"]):
    """Changes made at the track, and some of them taken back."""

    def current(self) -> Self:
        """Those that nobody took back."""
        return self.filter(taken_back_at__isnull=True)


class TrackChange(HangsOnImport, Row):
    """Something turned, moved or swapped between two runs. The sheet as set stays as it is."""

    # The sheet as set that the car stood on, open or closed.
    sheet = models.ForeignKey(Sheet, on_delete=models.PROTECT, related_name="track_changes")
    team = models.ForeignKey(Team, on_delete=models.PROTECT, related_name="+", db_index=False)
    adjuster = models.SlugField(max_length=40)
    spot = models.CharField(max_length=10, choices=Spot.choices)
    amount = models.DecimalField(max_digits=12, decimal_places=4)
    unit = models.CharField(max_length=12)
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    made_at = models.DateTimeField(default=timezone.now)
    # It puts this one back: the same amount the other way.
    puts_back = models.ForeignKey(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="put_back_by"
    )
    # It was never made.
    taken_back_at = models.DateTimeField(null=True, blank=True)
    taken_back_by = models.ForeignKey(
        User, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )

    objects = TrackChangeQuerySet.as_manager()

    class Meta:
        ordering = ["made_at", "id"]
        indexes = [models.Index(fields=["team", "id"], name="track_change_of_team")]
        constraints = [
            models.CheckConstraint(condition=~Q(amount=0), name="track_change_of_something"),
            models.UniqueConstraint(
                fields=["puts_back"],
                condition=Q(taken_back_at__isnull=True),
                name="track_change_put_back_once",
            ),
            models.CheckConstraint(
                condition=Q(taken_back_at__isnull=True, taken_back_by__isnull=True)
                | Q(taken_back_at__isnull=False, taken_back_by__isnull=False),
                name="track_change_taken_back_at_with_by",
            ),
            SameParent(
                name="track_change_team", parent="sheet_id", shared="team_id", to="cars_sheet"
            ),
            RowSecurity(
                name="track_change",
                read=all_of(in_teams("reader"), STANDS),
                add=all_of(
                    in_teams("sheet"),
                    viewer_is("by_id"),
                    "EXISTS (SELECT FROM cars_sheet s WHERE s.id = sheet_id AND s.role = 'set')",
                ),
                change=in_teams("sheet"),
                change_columns=["taken_back_at", "taken_back_by_id"],
            ),
        ]

    def __str__(self) -> str:
        return f"{self.adjuster} {self.spot} {self.amount} {self.unit}"


class TrackReading(HangsOnImport, ReplacedRow):
    """A figure read off the car at the track: weighed or measured again between two runs.

    Never edited, only replaced; the sheet as set stays as it is.
    """

    sheet = models.ForeignKey(Sheet, on_delete=models.PROTECT, related_name="track_readings")
    team = models.ForeignKey(Team, on_delete=models.PROTECT, related_name="+", db_index=False)
    measure = models.ForeignKey(Measure, on_delete=models.PROTECT, related_name="+")
    spot = models.CharField(max_length=10, choices=Spot.choices)
    value = models.DecimalField(max_digits=20, decimal_places=10)
    typed = models.CharField(max_length=40)
    unit = models.CharField(max_length=12, blank=True)
    resolution = models.DecimalField(max_digits=20, decimal_places=10)
    taken_at = models.DateTimeField(default=timezone.now)

    objects = ReplacedRows["TrackReading"].as_manager()

    class Meta:
        ordering = ["taken_at", "id"]
        indexes = [models.Index(fields=["team", "id"], name="track_reading_of_team")]
        constraints = [
            replaced_at_with_by("track_reading"),
            SameParent(
                name="track_reading_team", parent="sheet_id", shared="team_id", to="cars_sheet"
            ),
            RowSecurity(
                name="track_reading",
                read=all_of(in_teams("reader"), STANDS),
                add=all_of(in_teams("sheet"), viewer_is("by_id")),
                change=in_teams("sheet"),
                change_columns=["replaced_at", "replaced_by_id"],
            ),
        ]

    def __str__(self) -> str:
        return f"{self.measure_id} {self.spot}: {self.typed}"
