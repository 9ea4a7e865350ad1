from django.db import models
from django.db.models import Q

from cars.models import Run
from cars.models.current import ReplacedRow, ReplacedRows, replaced_at_with_by
from clubsetup.access.row_security import (
    RowSecurity,
    SameParent,
    all_of,
    any_of,
    in_clubs,
    in_teams,
    viewer_is,
)
from events.models.entry import Entry
from teams.models import Team

# Whoever may note the run and change the entry.
WRITERS = all_of(
    in_teams("sheet"),
    any_of(
        in_teams("crew"),
        "EXISTS (SELECT FROM events_entry e WHERE e.id = entry_id AND "
        + any_of(in_clubs("official", "e.club_id"), in_clubs("steward", "e.club_id"))
        + ")",
    ),
)


class EntryRun(ReplacedRow):
    """A car's run belongs to an entry: a heat or the main of an event, or a practice for it.

    It is the team's as the run is: whoever stands at the desk reads the entry, and of this nothing.
    Never edited, only replaced.
    """

    entry = models.ForeignKey(Entry, on_delete=models.PROTECT, related_name="runs")
    run = models.ForeignKey(Run, on_delete=models.PROTECT, related_name="+", db_index=False)
    team = models.ForeignKey(Team, on_delete=models.PROTECT, related_name="+", db_index=False)

    objects = ReplacedRows["EntryRun"].as_manager()

    class Meta:
        indexes = [
            models.Index(fields=["team", "id"], name="entry_run_of_team"),
            models.Index(fields=["run", "team"], name="entry_run_of_run"),
        ]
        constraints = [
            models.UniqueConstraint(
                fields=["run"], condition=Q(replaced_at__isnull=True), name="entry_run_one_now"
            ),
            replaced_at_with_by("entry_run"),
            SameParent(name="entry_run_team", parent="run_id", shared="team_id", to="cars_run"),
            SameParent(
                name="entry_run_entry_team",
                parent="entry_id",
                shared="team_id",
                to="events_entry",
            ),
            RowSecurity(
                name="entry_run",
                read=in_teams("reader"),
                # The car that ran is the one that is entered.
                add=all_of(
                    WRITERS,
                    viewer_is("by_id"),
                    "EXISTS (SELECT FROM events_entry e JOIN cars_run r ON r.car_id = e.car_id"
                    " WHERE e.id = entry_id AND r.id = run_id)",
                ),
                change=WRITERS,
                change_columns=["replaced_at", "replaced_by_id"],
            ),
        ]

    def __str__(self) -> str:
        return f"a run of {self.entry}"
