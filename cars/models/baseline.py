from django.db import models
from django.db.models import Q

from cars.models.catalogue import Measure, Spot
from cars.models.chassis import Chassis
from cars.models.published import PublishedVersion, published_at_with_by
from clubsetup.access.models import Row, RowQuerySet
from clubsetup.access.row_security import RowSecurity, SameParent, all_of, any_of, in_clubs
from teams.models import Club, RaceClass, Surface


class Baseline(PublishedVersion):
    """What a chassis is supposed to be on one surface (and in one class): one version of it."""

    club = models.ForeignKey(
        Club, on_delete=models.PROTECT, related_name="baselines", db_index=False
    )
    chassis = models.ForeignKey(Chassis, on_delete=models.PROTECT, related_name="baselines")
    surface = models.CharField(max_length=10, choices=Surface.choices)
    race_class = models.ForeignKey(
        RaceClass, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    note = models.TextField(blank=True, help_text="What changed and why.")

    objects = RowQuerySet["Baseline"].as_manager()

    class Meta:
        ordering = ["chassis__name", "surface", "-version"]
        indexes = [models.Index(fields=["club", "id"], name="baseline_of_club")]
        constraints = [
            models.UniqueConstraint(
                fields=["chassis", "surface", "race_class", "version"],
                nulls_distinct=False,
                name="baseline_version_once",
            ),
            models.UniqueConstraint(
                fields=["chassis", "surface", "race_class"],
                condition=Q(state="published"),
                nulls_distinct=False,
                name="baseline_one_published",
            ),
            published_at_with_by("baseline"),
            models.CheckConstraint(
                condition=Q(surface__in=Surface.values), name="baseline_surface_known"
            ),
            SameParent(
                name="baseline_club", parent="chassis_id", shared="club_id", to="cars_chassis"
            ),
            RowSecurity(
                name="baseline",
                # A draft is the stewards' until it is published.
                read=any_of(in_clubs("steward"), all_of(in_clubs("member"), "state <> 'draft'")),
                add=in_clubs("steward"),
                change=in_clubs("steward"),
                change_columns=["state", "note", "published_at", "published_by_id"],
            ),
        ]

    def __str__(self) -> str:
        return f"{self.chassis}, {self.get_surface_display().lower()}, version {self.version}"


class BaselineValue(Row):
    """One target of a baseline."""

    class Source(models.TextChoices):
        MAKER = "maker", "The maker's sheet"
        CLUB = "club", "The club's experience"

    baseline = models.ForeignKey(Baseline, on_delete=models.CASCADE, related_name="values")
    club = models.ForeignKey(Club, on_delete=models.PROTECT, related_name="+")
    measure = models.ForeignKey(Measure, on_delete=models.PROTECT, related_name="+")
    spot = models.CharField(max_length=10, choices=Spot.choices)
    target = models.DecimalField(max_digits=20, decimal_places=10)
    tolerance = models.DecimalField(max_digits=20, decimal_places=10)
    target_typed = models.CharField(max_length=40)
    tolerance_typed = models.CharField(max_length=40)
    where = models.CharField(
        max_length=200, blank=True, help_text="Where on this chassis, if it differs."
    )
    source = models.CharField(max_length=10, choices=Source.choices)
    source_note = models.CharField(max_length=120, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["baseline", "measure", "spot"], name="baseline_value_once"
            ),
            models.CheckConstraint(
                condition=Q(tolerance__gte=0), name="baseline_tolerance_not_negative"
            ),
            SameParent(
                name="baseline_value_club",
                parent="baseline_id",
                shared="club_id",
                to="cars_baseline",
            ),
            RowSecurity(
                name="baseline_value",
                # The baseline's own policy says which baselines the viewer sees.
                read=all_of(
                    in_clubs("member"),
                    "EXISTS (SELECT FROM cars_baseline b WHERE b.id = baseline_id)",
                ),
                add=in_clubs("steward"),
                change=in_clubs("steward"),
                change_columns=[
                    *("target", "tolerance", "target_typed", "tolerance_typed"),
                    *("where", "source", "source_note"),
                ],
                remove=in_clubs("steward"),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.measure_id} {self.spot}: {self.target_typed}"
