from django.db import models
from django.db.models import Q
from django.utils import timezone

from clubsetup.access.models import Row, User
from clubsetup.access.row_security import RowSecurity, all_of, viewer_is


class StoredPrint(models.Model):
    """A rendered file, named by the hash of what it was rendered from."""

    digest = models.CharField(primary_key=True, max_length=64)
    bytes = models.PositiveIntegerField()
    pages = models.PositiveIntegerField()
    created_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        constraints = [
            # Seen through one's own jobs; access.finish_print_job alone writes here, for somebody
            # who has all that the print was made from.
            RowSecurity(
                name="stored_print",
                read="EXISTS (SELECT FROM printing_printjob j WHERE j.stored_id = digest)",
            ),
        ]

    def __str__(self) -> str:
        return self.digest


class PrintJob(Row):
    """Somebody asked for a print: the row is committed with the request and is the outbox."""

    class State(models.TextChoices):
        WAITING = "waiting", "Waiting"
        WORKING = "working", "Being made"
        DONE = "done", "Ready"
        FAILED = "failed", "Could not be made"
        GONE = "gone", "No longer kept"

    asked_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+", db_index=False)
    # Nobody asks for a document of everybody: an index of its own would only mislead the planner.
    document = models.SlugField(max_length=40, db_index=False)
    subject_id = models.UUIDField()
    title = models.CharField(max_length=120)
    state = models.CharField(max_length=10, choices=State.choices, default=State.WAITING)
    attempts = models.PositiveSmallIntegerField(default=0)
    # When its id last went to the worker's queue; what is lost there is sent again.
    sent_at = models.DateTimeField(default=timezone.now)
    # Whoever holds the lease may finish the job; after it, another may take it.
    lease = models.UUIDField(null=True, blank=True)
    leased_until = models.DateTimeField(null=True, blank=True)
    finished_at = models.DateTimeField(null=True, blank=True)
    stored = models.ForeignKey(
        StoredPrint, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    # Why it could not be made; while it waits, what the worker lacks that would make it.
    problem = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ["-created_at"]
        indexes = [
            models.Index(
                fields=["leased_until"],
                condition=Q(state__in=["waiting", "working"]),
                name="print_job_open",
            ),
            models.Index(fields=["asked_by", "id"], name="print_job_of_person"),
            models.Index(fields=["asked_by", "document", "id"], name="print_job_of_person_by_kind"),
            # What is told and removed of a driver goes by what the prints are of.
            models.Index(fields=["subject_id"], name="print_job_of_subject"),
        ]
        constraints = [
            models.CheckConstraint(
                condition=Q(state="done", stored__isnull=False)
                | (~Q(state="done") & Q(stored__isnull=True)),
                name="print_job_done_with_file",
            ),
            models.CheckConstraint(
                condition=Q(state="working", lease__isnull=False, leased_until__isnull=False)
                | ~Q(state="working"),
                name="print_job_working_with_lease",
            ),
            RowSecurity(
                name="print_job",
                read=viewer_is("asked_by_id"),
                add=all_of(viewer_is("asked_by_id"), "state = 'waiting'", "stored_id IS NULL"),
                change=viewer_is("asked_by_id"),
                change_columns=[
                    *("state", "attempts", "lease", "leased_until", "finished_at", "problem"),
                ],
            ),
        ]

    def __str__(self) -> str:
        return self.title

    @property
    def is_over(self) -> bool:
        """Whether nothing more will happen to it."""
        return self.state in (self.State.DONE, self.State.FAILED, self.State.GONE)

    @property
    def shown(self) -> str:
        """What a page shows of it: its state, or that it waits for something to be installed."""
        return "held_up" if self.state == self.State.WAITING and self.problem else self.state
