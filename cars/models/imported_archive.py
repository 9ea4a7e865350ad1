from django.db import models

from clubsetup.access.models import Row, RowQuerySet, User
from clubsetup.access.row_security import RowSecurity, all_of, in_teams, viewer_is
from teams.models import Team


class ImportedArchive(Row):
    """An archive of a team that came in: where it is from, and what of it is there to read alone.

    Official records of another club never become records here, and nobody's words are put into
    another's mouth: both are `attached` as they came.
    """

    team = models.ForeignKey(Team, on_delete=models.PROTECT, related_name="+", db_index=False)
    # Empty: whoever runs the service, from the command line.
    by = models.ForeignKey(User, on_delete=models.PROTECT, null=True, blank=True, related_name="+")
    digest = models.CharField(max_length=64, help_text="SHA-256 of the JSON that came in.")
    source_team = models.CharField(max_length=80)
    source_club = models.CharField(max_length=80)
    made_at = models.DateTimeField(help_text="When the archive was made, as it says.")
    # The source's ids by ours, by kind; none where they are the same.
    source_ids = models.JSONField(default=dict)
    # {"people": {id: name}, "record": {kind: rows}, ...}
    attached = models.JSONField(default=dict)

    objects = RowQuerySet["ImportedArchive"].as_manager()

    class Meta:
        ordering = ["-id"]
        indexes = [models.Index(fields=["team", "id"], name="imported_archive_of_team")]
        constraints = [
            models.UniqueConstraint(fields=["team", "digest"], name="imported_archive_once"),
            RowSecurity(
                name="imported_archive",
                read=in_teams("crew"),
                add=all_of(in_teams("crew"), viewer_is("by_id")),
            ),
        ]

    def __str__(self) -> str:
        return f"Archive of {self.source_team}, {self.source_club}"
