from django.db import models
from django.db.models import Q

from cars.models.catalogue import Measure, Spot
from cars.models.current import ReplacedRow, ReplacedRows, replaced_at_with_by
from cars.models.imports import STANDS, HangsOnImport
from cars.models.part import Part, part_where_it_belongs
from cars.models.run import Run
from clubsetup.access.row_security import RowSecurity, SameParent, all_of, in_teams, viewer_is
from teams.models import Team


def _of_the_run(name: str) -> SameParent:
    return SameParent(name=name, parent="run_id", shared="team_id", to="cars_run")


class RunReading(HangsOnImport, ReplacedRow):
    """Read off the car as it came in from a run: hot pressures, roll-outs while warm.

    It says nothing of how the car stands, as a TrackReading does. Never edited, only replaced.
    """

    run = models.ForeignKey(Run, on_delete=models.PROTECT, related_name="readings", db_index=False)
    team = models.ForeignKey(Team, on_delete=models.PROTECT, related_name="+", db_index=False)
    measure = models.ForeignKey(Measure, on_delete=models.PROTECT, related_name="+")
    spot = models.CharField(max_length=10, choices=Spot.choices)
    value = models.DecimalField(max_digits=20, decimal_places=10)
    typed = models.CharField(max_length=40)
    unit = models.CharField(max_length=12, blank=True)
    resolution = models.DecimalField(max_digits=20, decimal_places=10)

    objects = ReplacedRows["RunReading"].as_manager()

    class Meta:
        indexes = [
            models.Index(fields=["team", "id"], name="run_reading_of_team"),
            models.Index(fields=["run", "team"], name="run_reading_of_run"),
        ]
        constraints = [
            models.UniqueConstraint(
                fields=["run", "measure", "spot"],
                condition=Q(replaced_at__isnull=True),
                name="run_reading_one_now",
            ),
            models.CheckConstraint(
                condition=Q(measure__in=["pressure", "circumference"])
                & Q(spot__in=["LF", "RF", "LR", "RR"]),
                name="run_reading_of_a_tyre",
            ),
            replaced_at_with_by("run_reading"),
            _of_the_run("run_reading_team"),
            RowSecurity(
                name="run_reading",
                read=all_of(in_teams("reader"), STANDS),
                add=all_of(in_teams("sheet"), viewer_is("by_id")),
                change=in_teams("sheet"),
                change_columns=["replaced_at", "replaced_by_id"],
            ),
        ]

    def __str__(self) -> str:
        return f"{self.measure_id} {self.spot}: {self.typed}"


class RunPart(HangsOnImport, ReplacedRow):
    """Which of the team's parts was on the car in a run, where the sheet does not say it rightly.

    Without a part: none of the team's. Never edited, only replaced.
    """

    run = models.ForeignKey(Run, on_delete=models.PROTECT, related_name="parts", db_index=False)
    team = models.ForeignKey(Team, on_delete=models.PROTECT, related_name="+", db_index=False)
    part = models.ForeignKey(
        Part, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    sort = models.CharField(max_length=10, choices=Part.Sort.choices)
    spot = models.CharField(max_length=10, choices=Spot.choices)

    objects = ReplacedRows["RunPart"].as_manager()

    class Meta:
        indexes = [
            models.Index(fields=["team", "id"], name="run_part_of_team"),
            models.Index(fields=["run", "team"], name="run_part_of_run"),
        ]
        constraints = [
            models.UniqueConstraint(
                fields=["run", "sort", "spot"],
                condition=Q(replaced_at__isnull=True),
                name="run_part_one_now",
            ),
            part_where_it_belongs("run_part_where_it_belongs"),
            replaced_at_with_by("run_part"),
            _of_the_run("run_part_team"),
            SameParent(name="run_part_own", parent="part_id", shared="team_id", to="cars_part"),
            SameParent(name="run_part_sort", parent="part_id", shared="sort", to="cars_part"),
            RowSecurity(
                name="run_part",
                # As of parts fitted: who may not see the codes does not learn which are the same.
                read=all_of(in_teams("code"), STANDS),
                add=all_of(in_teams("sheet"), in_teams("code"), viewer_is("by_id")),
                change=all_of(in_teams("sheet"), in_teams("code")),
                change_columns=["replaced_at", "replaced_by_id"],
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_sort_display()} {self.spot}"
