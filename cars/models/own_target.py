from django.db import models
from django.db.models import Q

from cars.models.car import Car
from cars.models.catalogue import Measure, Spot
from cars.models.current import ReplacedRow, ReplacedRows, replaced_at_with_by
from clubsetup.access.row_security import RowSecurity, all_of, in_teams, viewer_is
from teams.models import Surface, Team


class OwnTarget(ReplacedRow):
    """What a team wants of one of its cars beside the baseline, and why. Never edited."""

    car = models.ForeignKey(Car, on_delete=models.PROTECT, related_name="own_targets")
    # The team that had the car then, and whose target it stays.
    team = models.ForeignKey(Team, on_delete=models.PROTECT, related_name="+", db_index=False)
    # Empty: on whichever surface.
    surface = models.CharField(max_length=10, choices=Surface.choices, blank=True)
    measure = models.ForeignKey(Measure, on_delete=models.PROTECT, related_name="+")
    spot = models.CharField(max_length=10, choices=Spot.choices)
    target = models.DecimalField(max_digits=20, decimal_places=10)
    tolerance = models.DecimalField(max_digits=20, decimal_places=10)
    target_typed = models.CharField(max_length=40)
    tolerance_typed = models.CharField(max_length=40)
    reason = models.CharField(max_length=200)
    version = models.PositiveIntegerField(default=1)

    objects = ReplacedRows["OwnTarget"].as_manager()

    class Meta:
        ordering = ["created_at"]
        indexes = [models.Index(fields=["team", "id"], name="own_target_of_team")]
        constraints = [
            models.UniqueConstraint(
                fields=["car", "team", "surface", "measure", "spot", "version"],
                name="own_target_version_once",
            ),
            models.UniqueConstraint(
                fields=["car", "team", "surface", "measure", "spot"],
                condition=Q(replaced_at__isnull=True),
                name="own_target_one_now",
            ),
            models.CheckConstraint(condition=~Q(reason=""), name="own_target_has_reason"),
            models.CheckConstraint(
                condition=Q(tolerance__gte=0), name="own_target_tolerance_not_negative"
            ),
            models.CheckConstraint(
                condition=Q(surface__in=["", *Surface.values]), name="own_target_surface_known"
            ),
            replaced_at_with_by("own_target"),
            RowSecurity(
                name="own_target",
                read=in_teams("reader"),
                # The copy of the team must be the car's own when the row is made.
                add=all_of(
                    in_teams("crew"),
                    viewer_is("by_id"),
                    "EXISTS (SELECT FROM cars_car c WHERE c.id = car_id"
                    " AND c.team_id = cars_owntarget.team_id)",
                ),
                change=in_teams("crew"),
                change_columns=["replaced_at", "replaced_by_id"],
            ),
        ]

    def __str__(self) -> str:
        return f"{self.measure_id} {self.spot}: {self.target_typed}"
