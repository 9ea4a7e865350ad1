from django.db import models
from django.db.models import Q
from django.utils import timezone

from cars.models.current import ReplacedRow, ReplacedRows, replaced_at_with_by
from cars.models.part import Part
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
from teams.models import Club, Team


class PartStart(ReplacedRow):
    """What a part had run before its team noted runs: 'it came with 12 nights'.

    Empty is not known, and counts as none. Never edited, only replaced.
    """

    part = models.ForeignKey(Part, on_delete=models.PROTECT, related_name="starts")
    team = models.ForeignKey(Team, on_delete=models.PROTECT, related_name="+", db_index=False)
    runs = models.PositiveIntegerField(null=True, blank=True)
    laps = models.PositiveIntegerField(null=True, blank=True)
    nights = models.PositiveIntegerField(null=True, blank=True)
    hours = models.DecimalField(max_digits=8, decimal_places=2, null=True, blank=True)

    objects = ReplacedRows["PartStart"].as_manager()

    class Meta:
        indexes = [models.Index(fields=["team", "id"], name="part_start_of_team")]
        constraints = [
            models.UniqueConstraint(
                fields=["part"], condition=Q(replaced_at__isnull=True), name="part_start_one_now"
            ),
            models.CheckConstraint(
                condition=Q(hours__isnull=True) | Q(hours__gte=0),
                name="part_start_hours_not_negative",
            ),
            replaced_at_with_by("part_start"),
            SameParent(name="part_start_team", parent="part_id", shared="team_id", to="cars_part"),
            RowSecurity(
                name="part_start",
                read=in_teams("code"),
                add=all_of(in_teams("crew"), viewer_is("by_id")),
                change=in_teams("crew"),
                change_columns=["replaced_at", "replaced_by_id"],
            ),
        ]

    def __str__(self) -> str:
        return f"Before {day(timezone.localtime(self.created_at))}"


class PartLimit(ReplacedRow):
    """How long a part may run before it is looked at or replaced: of a club for a sort, of a team
    for a sort, or of a team for one part. Never edited, only replaced."""

    class Per(models.TextChoices):
        NIGHTS = "nights", "Nights"
        RUNS = "runs", "Runs"
        LAPS = "laps", "Laps"
        HOURS = "hours", "Hours"

    club = models.ForeignKey(
        Club, on_delete=models.PROTECT, null=True, blank=True, related_name="+", db_index=False
    )
    team = models.ForeignKey(
        Team, on_delete=models.PROTECT, null=True, blank=True, related_name="+", db_index=False
    )
    sort = models.CharField(max_length=10, choices=Part.Sort.choices)
    # Empty: every part of the sort.
    part = models.ForeignKey(
        Part, on_delete=models.PROTECT, null=True, blank=True, related_name="limits"
    )
    per = models.CharField(max_length=10, choices=Per.choices)
    most = models.DecimalField(max_digits=8, decimal_places=2)

    objects = ReplacedRows["PartLimit"].as_manager()

    class Meta:
        indexes = [
            models.Index(fields=["team", "id"], name="part_limit_of_team"),
            models.Index(fields=["club", "id"], name="part_limit_of_club"),
        ]
        constraints = [
            models.CheckConstraint(
                condition=Q(club__isnull=False, team__isnull=True, part__isnull=True)
                | Q(club__isnull=True, team__isnull=False),
                name="part_limit_of_club_or_team",
            ),
            models.CheckConstraint(
                condition=Q(sort__in=Part.Sort.values, per__in=["nights", "runs", "laps", "hours"]),
                name="part_limit_known",
            ),
            models.CheckConstraint(condition=Q(most__gt=0), name="part_limit_positive"),
            models.UniqueConstraint(
                fields=["club", "sort", "per"],
                condition=Q(replaced_at__isnull=True, club__isnull=False),
                name="part_limit_of_club_one_now",
            ),
            models.UniqueConstraint(
                fields=["team", "sort", "per"],
                condition=Q(replaced_at__isnull=True, team__isnull=False, part__isnull=True),
                name="part_limit_of_team_one_now",
            ),
            models.UniqueConstraint(
                fields=["part", "per"],
                condition=Q(replaced_at__isnull=True, part__isnull=False),
                name="part_limit_of_part_one_now",
            ),
            replaced_at_with_by("part_limit"),
            SameParent(name="part_limit_team", parent="part_id", shared="team_id", to="cars_part"),
            SameParent(name="part_limit_sort", parent="part_id", shared="sort", to="cars_part"),
            RowSecurity(
                name="part_limit",
                read=any_of(in_clubs("member"), in_teams("code")),
                add=all_of(any_of(in_clubs("steward"), in_teams("crew")), viewer_is("by_id")),
                change=any_of(in_clubs("steward"), in_teams("crew")),
                change_columns=["replaced_at", "replaced_by_id"],
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_sort_display()}: {self.most.normalize():f} {self.per}"
