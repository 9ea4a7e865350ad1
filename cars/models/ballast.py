from typing import Self

from django.db import models
from django.db.models import Q

from cars.models.car import Car
from cars.models.chassis import Chassis
from clubsetup.access.models import Row, RowQuerySet
from clubsetup.access.row_security import RowSecurity, SameParent, in_clubs, in_teams
from clubsetup.quantities import bounds
from clubsetup.quantities.kinds import Kind
from clubsetup.site.model_fields import QuantityField
from teams.models import Club, Team


class BallastMount(Row):
    """A place on a chassis where ballast may be fixed. ISO 8855 frame: x forward, y left."""

    chassis = models.ForeignKey(Chassis, on_delete=models.CASCADE, related_name="mounts")
    club = models.ForeignKey(Club, on_delete=models.PROTECT, related_name="+")
    name = models.CharField(max_length=40)
    x = QuantityField(kind=Kind.LENGTH, limits=bounds.ALONG_THE_CAR)
    y = QuantityField(kind=Kind.LENGTH, limits=bounds.ACROSS_THE_CAR)
    capacity = QuantityField(kind=Kind.MASS, limits=bounds.CAPACITY)
    # As typed: {"x": "17 in", ...}; empty for what was kept before texts were.
    typed = models.JSONField(default=dict)

    objects = RowQuerySet["BallastMount"].as_manager()

    class Meta:
        ordering = ["name"]
        constraints = [
            models.UniqueConstraint(fields=["chassis", "name"], name="mount_name_once_a_chassis"),
            models.CheckConstraint(condition=Q(capacity__gt=0), name="mount_capacity_positive"),
            SameParent(name="mount_club", parent="chassis_id", shared="club_id", to="cars_chassis"),
            RowSecurity(
                name="ballast_mount",
                read=in_clubs("member"),
                add=in_clubs("steward"),
            ),
        ]

    def __str__(self) -> str:
        return self.name


class BallastPieceQuerySet(RowQuerySet["BallastPiece"]):
    """Pieces of ballast that a team has or had."""

    def in_use(self) -> Self:
        """Those that are not retired."""
        return self.filter(retired_at__isnull=True)


class BallastPiece(Row):
    """One piece of ballast: what is written on it, and where it is fixed."""

    team = models.ForeignKey(
        Team, on_delete=models.PROTECT, related_name="ballast_pieces", db_index=False
    )
    # Empty: on the shelf.
    car = models.ForeignKey(
        Car, on_delete=models.PROTECT, null=True, blank=True, related_name="ballast_pieces"
    )
    mount = models.ForeignKey(
        BallastMount, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    label = models.CharField(max_length=40, help_text="The name or car number written on it.")
    marked_mass = QuantityField(kind=Kind.MASS, limits=bounds.PIECE)
    marked_mass_typed = models.CharField(max_length=40)
    retired_at = models.DateTimeField(null=True, blank=True)

    objects = BallastPieceQuerySet.as_manager()

    class Meta:
        ordering = ["label", "created_at"]
        indexes = [models.Index(fields=["team", "id"], name="ballast_piece_of_team")]
        constraints = [
            models.CheckConstraint(
                condition=Q(marked_mass__gt=0), name="ballast_piece_mass_positive"
            ),
            # Officials of the club holding an event see the pieces of the cars entered (events).
            RowSecurity(
                name="ballast_piece",
                read=in_teams("reader"),
                add=in_teams("crew"),
                change=in_teams("crew"),
                change_columns=["car_id", "mount_id", "retired_at"],
            ),
        ]

    def __str__(self) -> str:
        return f"{self.label} {self.marked_mass_typed}"
