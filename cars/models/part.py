from django.db import models

from clubsetup.access.models import Row, RowQuerySet
from clubsetup.access.row_security import RowSecurity, SameParent, in_teams
from teams.models import Team


class Part(Row):
    """A spring, damper or tyre that a team owns. Its code is a row of its own (PartCode)."""

    class Sort(models.TextChoices):
        SPRING = "spring", "Spring"
        DAMPER = "damper", "Damper"
        TYRE = "tyre", "Tyre"

    team = models.ForeignKey(Team, on_delete=models.PROTECT, related_name="parts", db_index=False)
    sort = models.CharField(max_length=10, choices=Sort.choices)
    # Springs only: N/mm.
    rate = models.DecimalField(max_digits=20, decimal_places=10, null=True, blank=True)
    rate_typed = models.CharField(max_length=40, blank=True)

    objects = RowQuerySet["Part"].as_manager()

    class Meta:
        indexes = [models.Index(fields=["team", "id"], name="part_of_team")]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(rate__isnull=True) | models.Q(sort="spring", rate__gt=0),
                name="part_rate_of_springs",
            ),
            RowSecurity(name="part", read=in_teams("code"), add=in_teams("crew")),
        ]

    def __str__(self) -> str:
        return self.get_sort_display()


class PartCode(Row):
    """The team's private mark on a part and what it stands for."""

    part = models.OneToOneField(Part, on_delete=models.CASCADE, related_name="code")
    team = models.ForeignKey(Team, on_delete=models.PROTECT, related_name="+")
    code = models.CharField(max_length=40)
    note = models.TextField(blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["team", "code"], name="part_code_once_a_team"),
            SameParent(name="part_code_team", parent="part_id", shared="team_id", to="cars_part"),
            RowSecurity(
                name="part_code",
                read=in_teams("code"),
                add=in_teams("crew"),
                change=in_teams("crew"),
                change_columns=["code", "note"],
                remove=in_teams("crew"),
            ),
        ]

    def __str__(self) -> str:
        return self.code
