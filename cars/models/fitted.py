from django.db import models
from django.db.models import Q

from cars.models.catalogue import Spot
from cars.models.current import ReplacedRow, ReplacedRows, replaced_at_with_by
from cars.models.imports import STANDS, HangsOnImport
from cars.models.part import Part, part_where_it_belongs
from cars.models.sheet import Sheet
from clubsetup.access.row_security import RowSecurity, SameParent, all_of, in_teams, viewer_is
from teams.models import Team


class PartFitted(HangsOnImport, ReplacedRow):
    """Which of the team's parts is on a corner or on the car, as a sheet has it.

    Never edited, only replaced.
    """

    sheet = models.ForeignKey(Sheet, on_delete=models.PROTECT, related_name="parts_fitted")
    team = models.ForeignKey(Team, on_delete=models.PROTECT, related_name="+")
    part = models.ForeignKey(Part, on_delete=models.PROTECT, related_name="fitted")
    # The part's own, so that a spot has one of each sort.
    sort = models.CharField(max_length=10, choices=Part.Sort.choices)
    spot = models.CharField(max_length=10, choices=Spot.choices)

    objects = ReplacedRows["PartFitted"].as_manager()

    class Meta:
        ordering = ["created_at"]
        # Of a part: the sheets it was on.
        indexes = [models.Index(fields=["part", "sheet"], name="part_fitted_of_part")]
        constraints = [
            models.UniqueConstraint(
                fields=["sheet", "sort", "spot"],
                condition=Q(replaced_at__isnull=True),
                name="part_fitted_one_now",
            ),
            part_where_it_belongs("part_fitted_where_it_belongs"),
            replaced_at_with_by("part_fitted"),
            SameParent(
                name="part_fitted_team", parent="sheet_id", shared="team_id", to="cars_sheet"
            ),
            SameParent(name="part_fitted_own", parent="part_id", shared="team_id", to="cars_part"),
            SameParent(name="part_fitted_sort", parent="part_id", shared="sort", to="cars_part"),
            RowSecurity(
                name="part_fitted",
                # Whoever may not see the marks does not learn which corners carry the same part.
                read=all_of(in_teams("code"), STANDS),
                add=all_of(in_teams("sheet"), in_teams("code"), viewer_is("by_id")),
                change=all_of(in_teams("sheet"), in_teams("code")),
                change_columns=["replaced_at", "replaced_by_id"],
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_sort_display()} {self.spot}"
