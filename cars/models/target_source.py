from django.db import models
from django.db.models import F, Q

from cars.models.imports import STANDS, HangsOnImport
from cars.models.sheet import Sheet
from clubsetup.access.models import Row
from clubsetup.access.row_security import RowSecurity, SameParent, all_of, in_teams
from teams.models import Team


class SheetTargetSource(HangsOnImport, Row):
    """Where a sheet's targets come from: another sheet, or the team's own targets (no sheet).

    Those of a sheet without a row here come from its baseline.
    """

    sheet = models.OneToOneField(Sheet, on_delete=models.PROTECT, related_name="target_source")
    team = models.ForeignKey(Team, on_delete=models.PROTECT, related_name="+")
    target = models.ForeignKey(
        Sheet, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(target__isnull=True) | ~Q(target=F("sheet")),
                name="target_source_is_another_sheet",
            ),
            SameParent(
                name="target_source_team", parent="sheet_id", shared="team_id", to="cars_sheet"
            ),
            SameParent(
                name="target_source_own", parent="target_id", shared="team_id", to="cars_sheet"
            ),
            # Chosen once, when the sheet is opened, so that its judgements keep their meaning.
            RowSecurity(
                name="target_source", read=all_of(in_teams("reader"), STANDS), add=in_teams("sheet")
            ),
        ]

    def __str__(self) -> str:
        return str(self.target) if self.target else "our own targets"
