from django.db import models

from clubsetup.access.models import Row, RowQuerySet
from clubsetup.access.row_security import RowSecurity, in_clubs
from clubsetup.quantities import bounds
from clubsetup.quantities.kinds import Kind
from clubsetup.site.model_fields import QuantityField
from teams.models.club import Club


class Surface(models.TextChoices):
    """What the track is made of."""

    PAVED = "paved", "Paved"
    DIRT = "dirt", "Dirt"


class Track(Row):
    """A track the club races on."""

    club = models.ForeignKey(Club, on_delete=models.PROTECT, related_name="tracks")
    name = models.CharField(max_length=80)
    surface = models.CharField(max_length=10, choices=Surface.choices)
    corner_radius = QuantityField(
        kind=Kind.LENGTH, limits=bounds.CORNER_RADIUS, null=True, blank=True
    )
    lap_length = QuantityField(kind=Kind.LENGTH, limits=bounds.LAP, null=True, blank=True)
    banking = QuantityField(kind=Kind.ANGLE, limits=bounds.BANKING, null=True, blank=True)
    # As typed: {"lap_length": "1/20 mi", ...}; empty for what was kept before texts were.
    typed = models.JSONField(default=dict)

    objects = RowQuerySet["Track"].as_manager()

    class Meta:
        ordering = ["name"]
        constraints = [
            models.UniqueConstraint(fields=["club", "name"], name="track_name_once_a_club"),
            models.CheckConstraint(
                condition=models.Q(surface__in=Surface.values), name="track_surface_known"
            ),
            RowSecurity(
                name="track",
                read=in_clubs("member"),
                add=in_clubs("steward"),
                change=in_clubs("steward"),
                change_columns=[
                    *("name", "surface", "corner_radius", "lap_length", "banking", "typed"),
                ],
            ),
        ]

    def __str__(self) -> str:
        return self.name


class RaceClass(Row):
    """A class the club runs. Its rules are in rule sets (events)."""

    club = models.ForeignKey(Club, on_delete=models.PROTECT, related_name="race_classes")
    name = models.CharField(max_length=60)

    objects = RowQuerySet["RaceClass"].as_manager()

    class Meta:
        ordering = ["name"]
        constraints = [
            models.UniqueConstraint(fields=["club", "name"], name="race_class_name_once_a_club"),
            RowSecurity(name="race_class", read=in_clubs("member"), add=in_clubs("steward")),
        ]

    def __str__(self) -> str:
        return self.name
