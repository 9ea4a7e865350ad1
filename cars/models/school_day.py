from typing import Self

from django.db import models
from django.db.models import Q

from cars.models.baseline import Baseline
from cars.models.car import Car
from cars.models.sheet import Sheet
from clubsetup.access.models import Row, RowQuerySet, User
from clubsetup.access.row_security import (
    RowSecurity,
    SameParent,
    all_of,
    any_of,
    in_clubs,
    in_teams,
    viewer_is,
)
from clubsetup.clock.writing import day
from teams.models import Club, Driver, Team, Track


class SchoolDay(Row):
    """A coach's plan of one day: which cars go out, in which order. `shown_at`: when the families
    whose cars are in it could see it."""

    club = models.ForeignKey(Club, on_delete=models.PROTECT, related_name="+", db_index=False)
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+", db_index=False)
    day = models.DateField()
    track = models.ForeignKey(
        Track, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    name = models.CharField(max_length=80)
    note = models.TextField(blank=True)
    shown_at = models.DateTimeField(null=True, blank=True)

    objects = RowQuerySet["SchoolDay"].as_manager()

    class Meta:
        ordering = ["-day", "-id"]
        indexes = [
            models.Index(fields=["by", "-day", "-id"], name="school_day_of_coach"),
            models.Index(fields=["club", "id"], name="school_day_of_club"),
        ]
        constraints = [
            models.CheckConstraint(condition=~Q(name=""), name="school_day_has_a_name"),
            SameParent(
                name="school_day_track", parent="track_id", shared="club_id", to="teams_track"
            ),
            RowSecurity(
                name="school_day",
                read=any_of(
                    viewer_is("by_id"),
                    # The outings that the viewer sees: of the viewer's own teams, once shown.
                    "EXISTS (SELECT FROM cars_outing o WHERE o.school_day_id = cars_schoolday.id"
                    " AND o.is_shown)",
                ),
                add=all_of(viewer_is("by_id"), in_clubs("coach")),
                change=viewer_is("by_id"),
                change_columns=["day", "track_id", "name", "note", "shown_at"],
                remove=viewer_is("by_id"),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.name}, {day(self.day)}"


class OutingQuerySet(RowQuerySet["Outing"]):
    """Outings with what their lines say."""

    def with_names(self) -> Self:
        """In the order in which the cars go out, with car, team, driver and sheet."""
        joined = (
            "car",
            "team",
            "driver",
            "sheet__car",
            "sheet__track",
            "baseline__chassis",
            "baseline__club",
        )
        rows = self.select_related(*joined, "baseline__chassis", "baseline__club")
        return rows.order_by("order")


class Outing(Row):
    """One car sent out on a school day: who drives it, and to which sheet or baseline it is set."""

    school_day = models.ForeignKey(
        SchoolDay, on_delete=models.CASCADE, related_name="outings", db_index=False
    )
    # Copies of the day's, for the policies: who planned it, and whether families see it.
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+", db_index=False)
    is_shown = models.BooleanField(default=False)
    order = models.PositiveSmallIntegerField()
    car = models.ForeignKey(Car, on_delete=models.PROTECT, related_name="outings")
    # The team that had the car then.
    team = models.ForeignKey(Team, on_delete=models.PROTECT, related_name="+", db_index=False)
    driver = models.ForeignKey(
        Driver, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    sheet = models.ForeignKey(
        Sheet, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    baseline = models.ForeignKey(
        Baseline, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    note = models.CharField(max_length=200, blank=True)

    objects = OutingQuerySet.as_manager()

    class Meta:
        ordering = ["order"]
        indexes = [
            models.Index(fields=["team", "id"], name="outing_of_team"),
            models.Index(fields=["school_day", "order"], name="outing_of_school_day"),
        ]
        constraints = [
            models.UniqueConstraint(
                fields=["school_day", "order"],
                deferrable=models.Deferrable.DEFERRED,
                name="outing_order_once",
            ),
            models.CheckConstraint(condition=Q(order__gte=1), name="outing_order_from_one"),
            models.CheckConstraint(
                condition=Q(sheet__isnull=True) | Q(baseline__isnull=True),
                name="outing_sheet_or_baseline",
            ),
            SameParent(
                name="outing_by", parent="school_day_id", shared="by_id", to="cars_schoolday"
            ),
            # Never another family's sheet or driver.
            SameParent(
                name="outing_sheet_team", parent="sheet_id", shared="team_id", to="cars_sheet"
            ),
            SameParent(
                name="outing_driver_team", parent="driver_id", shared="team_id", to="teams_driver"
            ),
            RowSecurity(
                name="outing",
                read=all_of(in_teams("reader"), any_of(viewer_is("by_id"), "is_shown")),
                # The copy of the team must be the car's own when the row is made.
                add=all_of(
                    in_teams("comment"),
                    viewer_is("by_id"),
                    "EXISTS (SELECT FROM cars_car c WHERE c.id = car_id"
                    " AND c.team_id = cars_outing.team_id)",
                ),
                change=viewer_is("by_id"),
                change_columns=[
                    *("order", "driver_id", "sheet_id", "baseline_id", "note", "is_shown"),
                ],
                remove=viewer_is("by_id"),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.order}: car {self.car}"
