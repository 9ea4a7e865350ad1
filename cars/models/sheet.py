from typing import Self

from django.db import models
from django.db.models import Q
from django.utils import timezone

from cars.models.ballast import BallastMount, BallastPiece
from cars.models.baseline import Baseline
from cars.models.car import Car
from cars.models.catalogue import Measure, Spot
from cars.models.current import ReplacedRow, ReplacedRows, replaced_at_with_by
from cars.models.imports import (
    NOT_WITHDRAWN,
    STANDS,
    HangsOnImport,
    Import,
    of_its_import,
)
from clubsetup.access.models import Row, RowQuerySet, User
from clubsetup.access.row_security import RowSecurity, SameParent, all_of, in_teams, viewer_is
from clubsetup.clock.writing import day
from clubsetup.quantities import bounds
from clubsetup.quantities.kinds import Kind
from clubsetup.site.model_fields import QuantityField
from teams.models import Driver, Surface, Team, Track


def _of_the_sheet(name: str) -> SameParent:
    return SameParent(name=name, parent="sheet_id", shared="team_id", to="cars_sheet")


class SheetQuerySet(RowQuerySet["Sheet"]):
    """Sheets and their corrections."""

    def current(self) -> Self:
        """Those that no later version corrects."""
        return self.filter(corrected_by__isnull=True)


class Sheet(Row):
    """The figures of one car at one time. Closed, it stands; a correction is a new version."""

    class Role(models.TextChoices):
        FOUND = "found", "As found"
        SET = "set", "As set"
        TARGET = "target", "Target"

    class State(models.TextChoices):
        OPEN = "open", "Open"
        CLOSED = "closed", "Closed"

    car = models.ForeignKey(Car, on_delete=models.PROTECT, related_name="sheets")
    # The team that had the car then, and whose sheet it stays.
    team = models.ForeignKey(Team, on_delete=models.PROTECT, related_name="+", db_index=False)
    role = models.CharField(max_length=10, choices=Role.choices)
    state = models.CharField(max_length=10, choices=State.choices, default=State.OPEN)
    made_on = models.DateField()
    driver = models.ForeignKey(
        Driver, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    track = models.ForeignKey(
        Track, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    surface = models.CharField(max_length=10, choices=Surface.choices)
    baseline = models.ForeignKey(
        Baseline, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    based_on = models.ForeignKey(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="followed_by"
    )
    fuel = QuantityField(kind=Kind.VOLUME, limits=bounds.FUEL, null=True, blank=True)
    fuel_typed = models.CharField(max_length=40, blank=True)
    # Taken over from the sheet it follows, and not noted here.
    fuel_carried = models.BooleanField(default=False)
    note = models.TextField(blank=True)
    opened_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    closed_at = models.DateTimeField(null=True, blank=True)
    closed_by = models.ForeignKey(
        User, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    version = models.PositiveIntegerField(default=1)
    corrects = models.OneToOneField(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="corrected_by"
    )
    reason = models.CharField(max_length=200, blank=True, help_text="Why this version was made.")
    from_import = models.ForeignKey(
        Import, on_delete=models.PROTECT, null=True, blank=True, related_name="sheets"
    )

    objects = SheetQuerySet.as_manager()

    class Meta:
        ordering = ["-made_on", "-created_at"]
        indexes = [
            models.Index(fields=["team", "id"], name="sheet_of_team"),
            models.Index(fields=["car", "-made_on", "-created_at"], name="sheet_of_car"),
            # What a car stands on at the track is the first of these.
            models.Index(
                fields=["car", "-made_on", "-created_at"],
                condition=Q(role="set"),
                name="sheet_set_of_car",
            ),
            # Of a car's hundreds one or two are open.
            models.Index(fields=["car"], condition=Q(state="open"), name="sheet_open_of_car"),
        ]
        constraints = [
            models.CheckConstraint(
                condition=Q(state="open", closed_at__isnull=True, closed_by__isnull=True)
                | Q(state="closed", closed_at__isnull=False, closed_by__isnull=False),
                name="sheet_closed_at_with_by",
            ),
            models.CheckConstraint(
                condition=Q(surface__in=Surface.values), name="sheet_surface_known"
            ),
            models.CheckConstraint(
                condition=Q(version=1, corrects__isnull=True)
                | (Q(version__gt=1, corrects__isnull=False) & ~Q(reason="")),
                name="sheet_correction_has_reason",
            ),
            of_its_import("sheet_import_team"),
            RowSecurity(
                name="sheet",
                read=all_of(in_teams("reader"), NOT_WITHDRAWN),
                add=all_of(in_teams("sheet"), viewer_is("opened_by_id")),
                change=in_teams("sheet"),
                change_columns=[
                    *("made_on", "driver_id", "track_id", "surface", "baseline_id", "note"),
                    *("fuel", "fuel_typed", "fuel_carried"),
                    *("state", "closed_at", "closed_by_id"),
                ],
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_role_display()} {day(self.made_on)}"

    @property
    def fuel_text(self) -> str:
        """The fuel as it was typed, and where that was on another sheet."""
        return f"{self.fuel_typed}, carried from as found" if self.fuel_carried else self.fuel_typed


class Reading(HangsOnImport, ReplacedRow):
    """One figure read off the car. Never edited: a new one replaces it and the old one stays."""

    sheet = models.ForeignKey(
        Sheet, on_delete=models.PROTECT, related_name="readings", db_index=False
    )
    team = models.ForeignKey(Team, on_delete=models.PROTECT, related_name="+", db_index=False)
    measure = models.ForeignKey(Measure, on_delete=models.PROTECT, related_name="+")
    spot = models.CharField(max_length=10, choices=Spot.choices)
    # A gauge read twice is two takes.
    take = models.PositiveSmallIntegerField(default=1)
    value = models.DecimalField(max_digits=20, decimal_places=10, null=True)
    typed = models.CharField(max_length=200)
    unit = models.CharField(max_length=12, blank=True)
    resolution = models.DecimalField(max_digits=20, decimal_places=10, null=True)
    # Where it was copied and not read: the reading that was. `by` and `taken_at` are that one's.
    carried_from = models.ForeignKey(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="+", db_index=False
    )
    # A copy on another sheet keeps it; `created_at` is when the row itself was made.
    taken_at = models.DateTimeField(default=timezone.now)

    objects = ReplacedRows["Reading"].as_manager()

    class Meta:
        ordering = ["created_at"]
        indexes = [
            models.Index(fields=["team", "id"], name="reading_of_team"),
            # With the team, by which the policy goes: else all readings of the team are combined
            # with those of the sheet.
            models.Index(fields=["sheet", "team"], name="reading_of_sheet"),
        ]
        constraints = [
            models.UniqueConstraint(
                fields=["sheet", "measure", "spot", "take"],
                condition=Q(replaced_at__isnull=True),
                name="reading_one_now",
            ),
            replaced_at_with_by("reading"),
            _of_the_sheet("reading_team"),
            RowSecurity(
                name="reading",
                read=all_of(in_teams("reader"), STANDS),
                add=in_teams("sheet"),
                change=in_teams("sheet"),
                change_columns=["replaced_at", "replaced_by_id"],
            ),
        ]

    def __str__(self) -> str:
        return f"{self.measure_id} {self.spot}: {self.typed}"


class ChangeQuerySet(RowQuerySet["Change"]):
    """Changes noted, and some of them taken back."""

    def current(self) -> Self:
        """Those that nobody took back."""
        return self.filter(taken_back_at__isnull=True)


class Change(HangsOnImport, Row):
    """Something turned, moved or swapped. Never edited; one that was never made is taken back."""

    sheet = models.ForeignKey(Sheet, on_delete=models.PROTECT, related_name="changes")
    team = models.ForeignKey(Team, on_delete=models.PROTECT, related_name="+", db_index=False)
    adjuster = models.SlugField(
        max_length=40, help_text="What was moved: spring-seat, upper-rod, ..."
    )
    spot = models.CharField(max_length=10, choices=Spot.choices)
    amount = models.DecimalField(max_digits=12, decimal_places=4)
    unit = models.CharField(max_length=12)
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    # A copy on a corrected sheet keeps it.
    made_at = models.DateTimeField(default=timezone.now)
    # The ballast piece that was fitted, moved or taken off, and from which mount to which.
    piece = models.ForeignKey(
        BallastPiece, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    was_at = models.ForeignKey(
        BallastMount, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    now_at = models.ForeignKey(
        BallastMount, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    taken_back_at = models.DateTimeField(null=True, blank=True)
    taken_back_by = models.ForeignKey(
        User, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )

    objects = ChangeQuerySet.as_manager()

    class Meta:
        ordering = ["created_at"]
        indexes = [models.Index(fields=["team", "id"], name="change_of_team")]
        constraints = [
            models.CheckConstraint(
                condition=Q(taken_back_at__isnull=True, taken_back_by__isnull=True)
                | Q(taken_back_at__isnull=False, taken_back_by__isnull=False),
                name="change_taken_back_at_with_by",
            ),
            _of_the_sheet("change_team"),
            RowSecurity(
                name="change",
                read=all_of(in_teams("reader"), STANDS),
                add=in_teams("sheet"),
                change=in_teams("sheet"),
                change_columns=["taken_back_at", "taken_back_by_id"],
            ),
        ]

    def __str__(self) -> str:
        return f"{self.adjuster} {self.spot} {self.amount} {self.unit}"


class Comment(HangsOnImport, Row):
    """A remark on a sheet, by the crew or a linked coach."""

    sheet = models.ForeignKey(Sheet, on_delete=models.PROTECT, related_name="comments")
    team = models.ForeignKey(Team, on_delete=models.PROTECT, related_name="+", db_index=False)
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    text = models.TextField()

    objects = RowQuerySet["Comment"].as_manager()

    class Meta:
        ordering = ["created_at"]
        indexes = [models.Index(fields=["team", "id"], name="comment_of_team")]
        constraints = [
            _of_the_sheet("comment_team"),
            RowSecurity(
                name="comment",
                read=all_of(in_teams("reader"), STANDS),
                add=all_of(in_teams("comment"), viewer_is("by_id")),
            ),
        ]

    def __str__(self) -> str:
        return self.text
