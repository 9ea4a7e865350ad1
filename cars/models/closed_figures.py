from django.db import models

from cars.models.imports import STANDS, HangsOnImport
from cars.models.sheet import Sheet
from clubsetup.access.models import Row, RowQuerySet
from clubsetup.access.row_security import RowSecurity, SameParent, all_of, in_teams
from teams.models import Team


class ClosedFigures(HangsOnImport, Row):
    """What a closed sheet says of its car, read or computed: kept, so that nobody adds it up again.

    Rests on the sheet's readings, and on the changes noted on it and on the sheets based on it: a
    change noted later removes the row, and the next sheet of the car that is closed makes it anew.
    """

    sheet = models.OneToOneField(Sheet, on_delete=models.PROTECT, related_name="closed_figures")
    team = models.ForeignKey(Team, on_delete=models.PROTECT, related_name="+", db_index=False)
    values = models.JSONField(help_text="By box, canonical: {'ride-height.LF': 57.15, ...}")

    as_set = models.JSONField(
        null=True,
        help_text="Of the boxes that were changed at the track since, how they were set; null where"
        " that was not kept yet.",
    )

    objects = RowQuerySet["ClosedFigures"].as_manager()

    class Meta:
        indexes = [models.Index(fields=["team", "id"], name="closed_figures_of_team")]
        constraints = [
            SameParent(
                name="closed_figures_team", parent="sheet_id", shared="team_id", to="cars_sheet"
            ),
            RowSecurity(
                name="closed_figures",
                read=all_of(in_teams("reader"), STANDS),
                add=all_of(
                    in_teams("sheet"),
                    "EXISTS (SELECT FROM cars_sheet s WHERE s.id = sheet_id"
                    " AND s.state = 'closed')",
                ),
            ),
        ]

    def __str__(self) -> str:
        return f"Figures of {self.sheet_id}"
