from django.db import models

from clubsetup.access.models import Row, User
from clubsetup.access.row_security import RowSecurity, SameParent, any_of, in_clubs, in_teams
from events.models.entry import Entry
from teams.models import Club, Team


class AgeAnswer(Row):
    """Whether an entry's driver is eligible by age: asked once, and kept whatever changes later.

    Only access.answer_age adds one. No finding and no line of the record chain says it.
    """

    entry = models.OneToOneField(Entry, on_delete=models.PROTECT, related_name="age_answer")
    club = models.ForeignKey(Club, on_delete=models.PROTECT, related_name="+")
    team = models.ForeignKey(Team, on_delete=models.PROTECT, related_name="+")
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    eligible = models.BooleanField()

    class Meta:
        constraints = [
            SameParent(
                name="age_answer_club", parent="entry_id", shared="club_id", to="events_entry"
            ),
            SameParent(
                name="age_answer_team", parent="entry_id", shared="team_id", to="events_entry"
            ),
            # Not stewards, guests or coaches.
            RowSecurity(name="age_answer", read=any_of(in_clubs("official"), in_teams("crew"))),
        ]

    def __str__(self) -> str:
        return f"{self.entry}: {'eligible' if self.eligible else 'not eligible'}"
