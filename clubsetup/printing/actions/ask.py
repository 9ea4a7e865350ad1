"""Asking for a print."""

from uuid import UUID

from django.db import transaction

from clubsetup.access.actions import action, record
from clubsetup.access.ids import new_id
from clubsetup.access.limits import count_against_limit
from clubsetup.access.models import User
from clubsetup.printing.models import PrintJob
from clubsetup.printing.registry import MadeFile, document_for, kind_for
from clubsetup.printing.sending import send


@action
def ask_for_print(
    *, by: User, document: str, subject_id: UUID, job_id: UUID | None = None
) -> PrintJob:
    """Writes the job; once that is committed its id goes to the worker.

    Raises Http404 where there is no such document, or no such subject for `by`.
    """
    return _ask(by, document_for(document), subject_id, job_id)


@action
def ask_for_file(*, by: User, kind: str, subject_id: UUID, job_id: UUID | None = None) -> PrintJob:
    """As `ask_for_print`, of any kind of file: for actions that have checked who may have it."""
    return _ask(by, kind_for(kind), subject_id, job_id)


def _ask(by: User, kind: MadeFile, subject_id: UUID, job_id: UUID | None) -> PrintJob:
    count_against_limit(by, "prints")
    subject = kind.subject(subject_id)
    title = kind.title(subject)[: PrintJob._meta.get_field("title").max_length]
    job = PrintJob(
        pk=job_id or new_id(), asked_by=by, document=kind.key, subject_id=subject_id, title=title
    )
    job.save(force_insert=True)
    record(
        by=by,
        did="asked_for",
        on=job,
        club_id=getattr(subject, "club_id", None),
        team_id=kind.team_of(subject),
        document=kind.key,
        subject=str(subject_id),
    )
    transaction.on_commit(lambda: send(job.pk))
    return job
