from django.db import models
from django.db.models import Q

from clubsetup.access.models import Row, RowQuerySet
from clubsetup.access.row_security import RowSecurity, SameParent, in_teams
from clubsetup.quantities import bounds
from clubsetup.quantities.kinds import Kind
from clubsetup.site.model_fields import QuantityField
from teams.models.team import Team


class Driver(Row):
    """A child who drives. A display name, and nothing else on this row."""

    team = models.ForeignKey(Team, on_delete=models.PROTECT, related_name="drivers", db_index=False)
    display_name = models.CharField(
        max_length=40, help_text="First name or nickname, as on the lap board."
    )

    objects = RowQuerySet["Driver"].as_manager()

    class Meta:
        ordering = ["display_name"]
        indexes = [models.Index(fields=["team", "id"], name="driver_of_team")]
        constraints = [
            models.UniqueConstraint(
                fields=["team", "display_name"], name="driver_name_once_a_team"
            ),
            RowSecurity(
                name="driver",
                read=in_teams("reader"),
                add=in_teams("crew"),
                change=in_teams("crew"),
                change_columns=["display_name"],
            ),
        ]

    def __str__(self) -> str:
        return self.display_name


class DriverBirth(Row):
    """A driver's birth date: a row of its own, because only the team's crew may see it."""

    driver = models.OneToOneField(Driver, on_delete=models.CASCADE, related_name="birth")
    team = models.ForeignKey(Team, on_delete=models.PROTECT, related_name="+")
    birth_date = models.DateField()

    class Meta:
        constraints = [
            SameParent(
                name="driver_birth_team", parent="driver_id", shared="team_id", to="teams_driver"
            ),
            RowSecurity(
                name="driver_birth",
                read=in_teams("crew"),
                add=in_teams("crew"),
                change=in_teams("crew"),
                change_columns=["birth_date"],
                remove=in_teams("crew"),
            ),
        ]

    def __str__(self) -> str:
        return "birth date"


class DriverWeight(Row):
    """One line of a driver's weight log, dressed to race."""

    driver = models.ForeignKey(Driver, on_delete=models.CASCADE, related_name="weights")
    team = models.ForeignKey(Team, on_delete=models.PROTECT, related_name="+", db_index=False)
    weighed_on = models.DateField()
    mass = QuantityField(kind=Kind.MASS, limits=bounds.DRIVER)
    mass_typed = models.CharField(max_length=40)

    objects = RowQuerySet["DriverWeight"].as_manager()

    class Meta:
        ordering = ["-weighed_on"]
        indexes = [models.Index(fields=["team", "id"], name="driver_weight_of_team")]
        constraints = [
            models.CheckConstraint(condition=Q(mass__gt=0), name="driver_weight_positive"),
            SameParent(
                name="driver_weight_team", parent="driver_id", shared="team_id", to="teams_driver"
            ),
            # Crew and linked coaches; not guests.
            RowSecurity(
                name="driver_weight",
                read=in_teams("comment"),
                add=in_teams("crew"),
                remove=in_teams("crew"),
            ),
        ]

    def __str__(self) -> str:
        return self.mass_typed
