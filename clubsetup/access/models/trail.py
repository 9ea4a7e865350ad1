from django.db import models

from clubsetup.access.models.base import Row
from clubsetup.access.row_security import RowSecurity, all_of, any_of, in_clubs, in_teams, viewer_is


class TrailLine(Row):
    """What was done, by whom. Written in the same transaction as the thing itself; never edited."""

    by = models.ForeignKey("access.User", on_delete=models.PROTECT, related_name="+")
    did = models.CharField(max_length=60)
    on_kind = models.CharField(max_length=60)
    on_id = models.UUIDField()
    club_id = models.UUIDField(null=True, blank=True)
    team_id = models.UUIDField(null=True, blank=True)
    detail = models.JSONField(default=dict)

    class Meta:
        ordering = ["-created_at"]
        indexes = [
            models.Index(fields=["on_id"], name="trail_line_on"),
            # A page of each trail, newest first by the time-ordered id.
            models.Index(fields=["team_id", "id"], name="trail_of_team"),
            models.Index(
                fields=["club_id", "id"],
                condition=models.Q(team_id__isnull=True),
                name="trail_of_club",
            ),
            models.Index(
                fields=["by", "id"],
                condition=models.Q(team_id__isnull=True, club_id__isnull=True),
                name="trail_of_person",
            ),
        ]
        constraints = [
            RowSecurity(
                name="trail_lines",
                # A team's rows are the team's alone: a steward reads the club's own.
                read=any_of(
                    in_teams("member"),
                    all_of("team_id IS NULL", in_clubs("steward")),
                    viewer_is("by_id"),
                ),
                # One's own line, in one's own trail; from outside a team only what the function
                # allows, which asks about the row itself.
                add=all_of(
                    viewer_is("by_id"),
                    any_of(
                        "(team_id IS NULL AND club_id IS NULL)",
                        in_teams("reader"),
                        all_of("team_id IS NULL", in_clubs("member")),
                        "access.may_write_line(did, on_kind, on_id, club_id, team_id)",
                    ),
                ),
            )
        ]

    def __str__(self) -> str:
        return f"{self.did} {self.on_kind} {self.on_id}"
