from django.db import models
from django.db.models import F, Q

from cars.models.sheet import Sheet
from clubsetup.access.models import Row
from clubsetup.access.row_security import RowSecurity, SameParent, in_teams
from teams.models import Team


class BenchTarget(Row):
    """What a sheet is worked towards: another sheet, or the team's own preferences (no sheet).

    A sheet without a row here is worked towards its baseline.
    """

    sheet = models.OneToOneField(Sheet, on_delete=models.PROTECT, related_name="bench_target")
    team = models.ForeignKey(Team, on_delete=models.PROTECT, related_name="+")
    target = models.ForeignKey(
        Sheet, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(target__isnull=True) | ~Q(target=F("sheet")),
                name="bench_target_is_another_sheet",
            ),
            SameParent(
                name="bench_target_team", parent="sheet_id", shared="team_id", to="cars_sheet"
            ),
            SameParent(
                name="bench_target_own", parent="target_id", shared="team_id", to="cars_sheet"
            ),
            # Chosen once, when the bench starts, so that its judgements keep their meaning.
            RowSecurity(name="bench_target", read=in_teams("setup"), add=in_teams("sheet")),
        ]

    def __str__(self) -> str:
        return str(self.target) if self.target else "our own targets"
