from django.db import models
from django.db.models import Q

from cars.models.catalogue import Spot
from clubsetup.access.models import Row, RowQuerySet
from clubsetup.access.row_security import RowSecurity, SameParent, in_teams
from teams.models import Team

CORNERS = ("LF", "RF", "LR", "RR")
ON_CORNERS = ("spring", "damper", "tyre")
ON_CAR = ("chain", "engine", "sprocket")


def part_where_it_belongs(name: str) -> models.CheckConstraint:
    """A part of a corner is on one, and any other on the car."""
    return models.CheckConstraint(
        condition=Q(sort__in=ON_CORNERS, spot__in=CORNERS) | Q(sort__in=ON_CAR, spot="car"),
        name=name,
    )


class Part(Row):
    """A part that a team owns. Its code is a row of its own (PartCode)."""

    class Sort(models.TextChoices):
        """Springs, dampers and tyres are on a corner; of the others the car has one."""

        SPRING = "spring", "Spring"
        DAMPER = "damper", "Damper"
        TYRE = "tyre", "Tyre"
        CHAIN = "chain", "Chain"
        ENGINE = "engine", "Engine"
        SPROCKET = "sprocket", "Sprocket"

        @property
        def spots(self) -> tuple[str, ...]:
            """Where on the car there is one."""
            return CORNERS if self.value in ON_CORNERS else (Spot.CAR.value,)

        @property
        def adjuster(self) -> str:
            """What a swap of one is noted as; another sprocket is another gearing."""
            return "gearing" if self.value == "sprocket" else self.value

        @classmethod
        def places(cls) -> list[tuple[str, str]]:
            """Every sort with each spot that it has."""
            return [(sort.value, spot) for sort in cls for spot in sort.spots]

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
