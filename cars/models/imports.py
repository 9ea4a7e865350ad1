from django.db import models
from django.db.models import Q
from django.utils import timezone

from clubsetup.access.models import Row, RowQuerySet, User
from clubsetup.access.row_security import RowSecurity, SameParent, all_of, in_teams, viewer_is
from teams.models import Team

# Runs once a statement, and only where a row came by an import at all.
NOT_WITHDRAWN = (
    "(from_import_id IS NULL"
    " OR from_import_id <> ALL ((SELECT access.withdrawn_imports())::uuid[]))"
)


# Of what hangs on a sheet or a run: a flag, for a look at the parent would cost every list of
# readings a search each time. `access.hide_import` sets it in the transaction that withdraws.
STANDS = "NOT withdrawn"


class HangsOnImport(models.Model):
    """What hangs on a sheet or a run, and is hidden with it when its import is withdrawn."""

    # Set by the database alone: no grant names it, and no archive holds it.
    withdrawn = models.BooleanField(default=False, db_default=False, editable=False)

    class Meta:
        abstract = True


def of_its_import(name: str) -> SameParent:
    """What an import brought in is of the team whose import it was."""
    return SameParent(name=name, parent="from_import_id", shared="team_id", to="cars_import")


class Import(Row):
    """A file of runs or sheets: read, then confirmed, then brought in whole, or not at all.

    Its cells are kept until it is brought in, and no longer.
    """

    class Kind(models.TextChoices):
        RUNS = "runs", "Runs and laps"
        FOUND = "found", "Sheets as found"
        SET = "set", "Sheets as set"
        ARCHIVE = "archive", "Archive of a team"

    class State(models.TextChoices):
        DRAFT = "draft", "Not confirmed yet"
        WAITING = "waiting", "Waiting"
        WORKING = "working", "Being brought in"
        DONE = "done", "Brought in"
        DROPPED = "dropped", "Dropped"

    class TimedBy(models.TextChoices):
        TRANSPONDER = "transponder", "The track's timing"
        HAND = "hand", "By hand"

    team = models.ForeignKey(Team, on_delete=models.PROTECT, related_name="+", db_index=False)
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    kind = models.CharField(max_length=10, choices=Kind.choices)
    # Of the laps in it; a column may say otherwise of a row.
    timed_by = models.CharField(max_length=12, choices=TimedBy.choices, default=TimedBy.TRANSPONDER)
    file_name = models.CharField(max_length=200)
    # Of the cells: the same table is not brought in twice.
    digest = models.CharField(max_length=64)
    # The number of each row in the file, and what stands in its cells; of an archive its text.
    cells = models.JSONField(default=list)
    # What is wrong with a cell, whatever it is to hold: row, column, sentence.
    flaws = models.JSONField(default=list)
    notes = models.JSONField(default=list)
    # Which place each column is for, by its place in the file; empty where it is left out.
    columns = models.JSONField(default=list)
    rows = models.PositiveIntegerField(help_text="That something stands in, without the header.")
    made = models.PositiveIntegerField(default=0, help_text="The runs or sheets it came to.")
    state = models.CharField(max_length=10, choices=State.choices, default=State.DRAFT)
    # Why it was not brought in after it was confirmed; it is a draft again then.
    problem = models.CharField(max_length=400, blank=True)
    attempts = models.PositiveSmallIntegerField(default=0)
    sent_at = models.DateTimeField(default=timezone.now)
    lease = models.UUIDField(null=True, blank=True)
    leased_until = models.DateTimeField(null=True, blank=True)
    confirmed_at = models.DateTimeField(null=True, blank=True)
    # For whom the worker works.
    confirmed_by = models.ForeignKey(
        User, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    withdrawn_at = models.DateTimeField(null=True, blank=True)
    withdrawn_by = models.ForeignKey(
        User, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )

    objects = RowQuerySet["Import"].as_manager()

    class Meta:
        ordering = ["-id"]
        indexes = [
            models.Index(fields=["team", "id"], name="import_of_team"),
            models.Index(
                fields=["leased_until"],
                condition=Q(state__in=["waiting", "working"]),
                name="import_open",
            ),
            # What the sweeper drops.
            models.Index(fields=["created_at"], condition=Q(state="draft"), name="import_draft"),
            # What the policies of runs and sheets ask for.
            models.Index(
                fields=["team"], condition=Q(withdrawn_at__isnull=False), name="import_withdrawn"
            ),
        ]
        constraints = [
            models.CheckConstraint(
                condition=Q(withdrawn_at__isnull=True, withdrawn_by__isnull=True)
                | Q(withdrawn_at__isnull=False, withdrawn_by__isnull=False, state="done"),
                name="import_withdrawn_at_with_by",
            ),
            models.CheckConstraint(
                condition=Q(confirmed_at__isnull=True, confirmed_by__isnull=True)
                | Q(confirmed_at__isnull=False, confirmed_by__isnull=False),
                name="import_confirmed_at_with_by",
            ),
            models.CheckConstraint(
                condition=~Q(state="working") | Q(lease__isnull=False, leased_until__isnull=False),
                name="import_working_with_lease",
            ),
            models.CheckConstraint(
                condition=Q(state__in=["draft", "waiting", "working"]) | Q(cells=[]),
                name="import_keeps_no_cells",
            ),
            RowSecurity(
                name="import",
                read=in_teams("crew"),
                add=all_of(in_teams("crew"), viewer_is("by_id")),
                change=in_teams("crew"),
                change_columns=[
                    *("cells", "flaws", "columns", "made", "state", "problem"),
                    *("attempts", "sent_at", "lease", "leased_until"),
                    *("confirmed_at", "confirmed_by_id", "withdrawn_at", "withdrawn_by_id"),
                ],
            ),
        ]

    def __str__(self) -> str:
        return self.file_name


class ImportColumns(Row):
    """Which place a team's columns are for, by their headers: remembered for its next file."""

    team = models.ForeignKey(Team, on_delete=models.PROTECT, related_name="+", db_index=False)
    kind = models.CharField(max_length=10, choices=Import.Kind.choices)
    places = models.JSONField(default=dict)

    objects = RowQuerySet["ImportColumns"].as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["team", "kind"], name="import_columns_once_a_kind"),
            RowSecurity(
                name="import_columns",
                read=in_teams("crew"),
                add=in_teams("crew"),
                change=in_teams("crew"),
                change_columns=["places"],
            ),
        ]

    def __str__(self) -> str:
        return f"{len(self.places)} columns"
