from django.db import models
from django.db.models import Q

from cars.models.baseline import Baseline
from cars.models.chassis import Chassis
from clubsetup.access.models import Row, RowQuerySet
from clubsetup.access.row_security import RowSecurity, any_of, in_teams
from teams.models import RaceClass, Team


class Car(Row):
    """One car, kept by the team that owns it now."""

    team = models.ForeignKey(Team, on_delete=models.PROTECT, related_name="cars", db_index=False)
    chassis = models.ForeignKey(Chassis, on_delete=models.PROTECT, related_name="cars")
    race_class = models.ForeignKey(
        RaceClass, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    baseline = models.ForeignKey(
        Baseline, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    number = models.CharField(max_length=6)
    name = models.CharField(max_length=40, blank=True)

    objects = RowQuerySet["Car"].as_manager()

    class Meta:
        ordering = ["number"]
        indexes = [models.Index(fields=["team", "id"], name="car_of_team")]
        constraints = [
            models.UniqueConstraint(fields=["team", "number"], name="car_number_once_a_team"),
            RowSecurity(
                name="car",
                # Whoever had it finds it still, as it was when it went: the view shown.cars_car.
                read=any_of(in_teams("reader"), "id = ANY ((SELECT access.former_cars())::uuid[])"),
                add=in_teams("crew"),
                change=in_teams("crew"),
                change_columns=["number", "name", "chassis_id", "race_class_id", "baseline_id"],
            ),
        ]

    def __str__(self) -> str:
        return f"{self.number} {self.name}".strip()


class Ownership(Row):
    """Which team had the car from when to when."""

    car = models.ForeignKey(Car, on_delete=models.CASCADE, related_name="ownerships")
    team = models.ForeignKey(Team, on_delete=models.PROTECT, related_name="+")
    since = models.DateField()
    until = models.DateField(null=True, blank=True)
    # What the car was when it went: the team reads its own sheets by these, not by what the next
    # owner makes of the car.
    number = models.CharField(max_length=6, blank=True)
    name = models.CharField(max_length=40, blank=True)
    chassis = models.ForeignKey(
        Chassis, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    race_class = models.ForeignKey(
        RaceClass, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    baseline = models.ForeignKey(
        Baseline, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )

    class Meta:
        ordering = ["since"]
        constraints = [
            models.UniqueConstraint(
                fields=["car"], condition=Q(until__isnull=True), name="ownership_one_now"
            ),
            models.CheckConstraint(
                condition=Q(until__isnull=True) | Q(until__gte=models.F("since")),
                name="ownership_until_after_since",
            ),
            models.CheckConstraint(
                condition=Q(until__isnull=True) | Q(chassis__isnull=False),
                name="ownership_ended_says_what_it_was",
            ),
            RowSecurity(name="ownership", read=in_teams("reader"), add=in_teams("crew")),
        ]

    def __str__(self) -> str:
        return f"{self.team} since {self.since}"
