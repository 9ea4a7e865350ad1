from typing import Any

from django.contrib.postgres.fields import ArrayField
from django.db import models
from django.db.models import Q
from django.utils import timezone

from cars.models.car import Car
from cars.models.imports import STANDS, HangsOnImport
from cars.models.sheet import Sheet
from clubsetup.access.models import Row, RowQuerySet, User
from clubsetup.access.row_security import RowSecurity, SameParent, all_of, in_teams, viewer_is
from clubsetup.clock.writing import day
from teams.models import Team

FOUR = 4


def _corners(**options: Any) -> "ArrayField[Any, Any]":
    """Computed figures, LF RF LR RR: kg or mm."""
    return ArrayField(models.FloatField(), size=FOUR, **options)


class Plan(HangsOnImport, Row):
    """A turn plan somebody accepted, with what it was predicted to give. Never edited.

    A prediction is not a reading: it is kept here, to be held against the next weighing.
    """

    sheet = models.ForeignKey(Sheet, on_delete=models.PROTECT, related_name="plans")
    team = models.ForeignKey(Team, on_delete=models.PROTECT, related_name="+", db_index=False)
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    accepted_at = models.DateTimeField()
    turns = ArrayField(models.DecimalField(max_digits=8, decimal_places=4), size=FOUR)
    # Ids of the readings it was computed from; they are never removed.
    started_from = ArrayField(models.UUIDField())
    # The chassis as stated, with the wheelbases and springs of the sheet, mm and N/mm.
    geometry = models.JSONField()
    learned = models.PositiveSmallIntegerField(help_text="Changes that the prediction knew of.")
    loads_before = _corners()
    heights_before = _corners(null=True)
    loads = _corners()
    u_loads = _corners()
    heights = _corners(null=True)
    u_heights = _corners(null=True)
    # Fractions of the total.
    cross_before = models.FloatField()
    cross = models.FloatField()
    u_cross = models.FloatField()

    objects = RowQuerySet["Plan"].as_manager()

    class Meta:
        ordering = ["accepted_at"]
        indexes = [models.Index(fields=["team", "id"], name="plan_of_team")]
        constraints = [
            models.CheckConstraint(
                condition=Q(turns__len=FOUR)
                & Q(loads_before__len=FOUR)
                & Q(loads__len=FOUR)
                & Q(u_loads__len=FOUR),
                name="plan_four_corners",
            ),
            models.CheckConstraint(
                condition=Q(
                    heights_before__isnull=True, heights__isnull=True, u_heights__isnull=True
                )
                # NULL beside a length is neither true nor false, and would pass.
                | Q(
                    heights_before__isnull=False,
                    heights__isnull=False,
                    u_heights__isnull=False,
                    heights_before__len=FOUR,
                    heights__len=FOUR,
                    u_heights__len=FOUR,
                ),
                name="plan_heights_together",
            ),
            SameParent(name="plan_team", parent="sheet_id", shared="team_id", to="cars_sheet"),
            RowSecurity(
                name="plan",
                read=all_of(in_teams("reader"), STANDS),
                add=all_of(in_teams("sheet"), viewer_is("by_id")),
            ),
        ]

    @property
    def turns_as_floats(self) -> list[float]:
        """The turns as plain numbers."""
        return [float(turns) for turns in self.turns]

    def __str__(self) -> str:
        return f"Turn plan {day(timezone.localtime(self.accepted_at))}"


class CalibrationReset(Row):
    """From here on a car is learned anew. What was observed before stays, and is not used."""

    car = models.ForeignKey(Car, on_delete=models.PROTECT, related_name="calibration_resets")
    # The team that had the car then.
    team = models.ForeignKey(Team, on_delete=models.PROTECT, related_name="+", db_index=False)
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    reason = models.CharField(max_length=200)

    objects = RowQuerySet["CalibrationReset"].as_manager()

    class Meta:
        ordering = ["created_at"]
        indexes = [models.Index(fields=["team", "id"], name="calibration_reset_of_team")]
        constraints = [
            models.CheckConstraint(condition=~Q(reason=""), name="calibration_reset_has_reason"),
            RowSecurity(
                name="calibration_reset",
                read=in_teams("reader"),
                # The copy of the team must be the car's own when the row is made.
                add=all_of(
                    in_teams("crew"),
                    viewer_is("by_id"),
                    "EXISTS (SELECT FROM cars_car c WHERE c.id = car_id"
                    " AND c.team_id = cars_calibrationreset.team_id)",
                ),
            ),
        ]

    def __str__(self) -> str:
        return self.reason
