"""Making a print: three short transactions, and the rendering outside any of them.

Taking the job counts the attempt and sets a lease, and is committed before anything can go wrong.
Then the HTML is built under the eyes of whoever asked; then, with nothing open, it is rendered;
then the file is noted and the job is done, if the lease still is ours. Whoever dies on the way
leaves a lease that runs out, and the job is sent again. Where a library for prints is missing the
job is not taken: it says what it waits for, is sent again, and is made once the library is there.
"""

import logging
from dataclasses import dataclass
from datetime import timedelta
from pathlib import Path
from tempfile import TemporaryDirectory
from uuid import UUID, uuid4

from django.conf import settings
from django.db import connection
from django.db.models import Q
from django.http import Http404
from django.utils import timezone

from clubsetup.access.actions import record
from clubsetup.access.viewer import one_moment, viewing_as
from clubsetup.printing import store
from clubsetup.printing.models import PrintJob, StoredPrint
from clubsetup.printing.packing import Folder
from clubsetup.printing.registry import ZipFileKind, document_for, kind_for
from clubsetup.printing.render import Source, render
from clubsetup.runtime.libraries import prints_wait_for

logger = logging.getLogger(__name__)

GONE = "What it was to show is gone, or is no longer yours to see."
GAVE_UP = "It could not be made. Ask again; if it fails again, tell whoever runs this service."
NO_ROOM = "The disk is full. When whoever runs this service has made room, it comes by itself."


@dataclass(frozen=True)
class HeldJob:
    """A job in hand, under a lease."""

    job_id: UUID
    asked_by: UUID
    lease: UUID
    document: str


def make_print(job_id: UUID) -> None:
    """Makes the print of this job, unless it is finished, in other hands or gone."""
    if waits_for := prints_wait_for():
        _hold_up(job_id, waits_for)
    elif held := _take(job_id):
        _make(held)


def _make(held: HeldJob) -> None:
    try:
        kind = kind_for(held.document)
        if isinstance(kind, ZipFileKind):
            _make_zip(held, kind)
        else:
            source = _build(held)
            _finish(held, source, _stored(held, source))
    except Http404:
        _fail(held, GONE)
    except OSError as problem:
        logger.exception("print %s: this attempt failed", held.job_id)
        # A disk has room again sooner or later: that uses up no attempt.
        _give_back(held, NO_ROOM if problem.errno in store.FULL else "")
    except Exception:
        logger.exception("print %s: this attempt failed", held.job_id)
        _give_back(held)


def _hold_up(job_id: UUID, waits_for: str) -> None:
    """Notes on a job that could be taken what it waits for; that uses up no attempt."""
    asked_by = _asked_by(job_id)
    if asked_by is None:
        return
    with viewing_as(asked_by):
        if job := _free(job_id):
            job.state, job.problem = PrintJob.State.WAITING, waits_for
            job.lease, job.leased_until = None, None
            job.save(update_fields=["state", "problem", "lease", "leased_until"])


def _free(job_id: UUID) -> PrintJob | None:
    free = Q(state=PrintJob.State.WAITING) | Q(
        state=PrintJob.State.WORKING, leased_until__lt=timezone.now()
    )
    return PrintJob.objects.select_for_update(skip_locked=True).filter(free, pk=job_id).first()


def _take(job_id: UUID) -> HeldJob | None:
    asked_by = _asked_by(job_id)
    if asked_by is None:
        return None
    with viewing_as(asked_by):
        job = _free(job_id)
        if job is None:
            return None
        if job.attempts >= settings.PRINT_MOST_ATTEMPTS:
            _end(job, PrintJob.State.FAILED, problem=GAVE_UP)
            return None
        held = HeldJob(job_id, asked_by, uuid4(), job.document)
        job.state, job.lease, job.problem = PrintJob.State.WORKING, held.lease, ""
        job.leased_until = timezone.now() + timedelta(seconds=_lease_seconds(job.document))
        job.attempts += 1
        job.save(update_fields=["state", "lease", "leased_until", "problem", "attempts"])
        return held


def _lease_seconds(document: str) -> int:
    try:
        return settings.PRINT_LEASE_SECONDS * kind_for(document).lease_factor
    except Http404:  # a document that is made no longer: said when it is to be built
        return settings.PRINT_LEASE_SECONDS


def _asked_by(job_id: UUID) -> UUID | None:
    with connection.cursor() as cursor:
        cursor.execute("SELECT access.print_job_asked_by(%s)", [job_id])
        row = cursor.fetchone()
    return row[0] if row else None


def _build(held: HeldJob) -> Source:
    with viewing_as(held.asked_by):
        job = PrintJob.objects.select_related("asked_by").get(pk=held.job_id)
        document = document_for(job.document)
        html = document.page(document.subject(job.subject_id), job.asked_by)
    return Source(html, document.styles)


def _stored(held: HeldJob, source: Source) -> StoredPrint:
    with viewing_as(held.asked_by):
        stored = store.find(source)
    if stored:
        return stored
    made = render(source)
    size = store.write(source, lambda file: file.write(made.content))
    return StoredPrint(digest=source.digest(), bytes=size, pages=made.pages)


def _make_zip(held: HeldJob, kind: ZipFileKind) -> None:
    """What must be read in one transaction, the rest and the packing outside any."""
    with TemporaryDirectory(prefix="clubsetup-zip-", dir=store.drafts()) as name:
        path = Path(name)
        with one_moment(), viewing_as(held.asked_by):
            job = PrintJob.objects.select_related("asked_by").get(pk=held.job_id)
            make_the_rest = kind.gather(kind.subject(job.subject_id), job.asked_by, path)
        make_the_rest()
        folder = Folder(path)
        size = store.write(folder, folder.pack)
        stored = StoredPrint(digest=folder.digest(), bytes=size, pages=0)
        _finish(held, folder, stored)


def _ours(held: HeldJob) -> PrintJob | None:
    working = PrintJob.objects.select_for_update().filter(
        state=PrintJob.State.WORKING, lease=held.lease
    )
    return working.filter(pk=held.job_id).first()


def _finish(held: HeldJob, source: store.Input, stored: StoredPrint) -> None:
    with viewing_as(held.asked_by):
        job = _ours(held)
        if job and store.finish(held.job_id, held.lease, source, stored):
            _record_end(job, PrintJob.State.DONE)


def _fail(held: HeldJob, problem: str) -> None:
    with viewing_as(held.asked_by):
        if job := _ours(held):
            _end(job, PrintJob.State.FAILED, problem=problem)


def _give_back(held: HeldJob, waits_for: str = "") -> None:
    """To be tried again; `waits_for` is what it lacked, and then the attempt does not count."""
    with viewing_as(held.asked_by):
        job = _ours(held)
        if job and not waits_for and job.attempts >= settings.PRINT_MOST_ATTEMPTS:
            _end(job, PrintJob.State.FAILED, problem=GAVE_UP)
        elif job:
            job.state, job.lease, job.leased_until = PrintJob.State.WAITING, None, None
            job.problem, job.attempts = waits_for, job.attempts - bool(waits_for)
            job.save(update_fields=["state", "lease", "leased_until", "problem", "attempts"])


def _end(job: PrintJob, state: str, problem: str) -> None:
    job.state, job.problem = state, problem
    job.lease, job.leased_until, job.finished_at = None, None, timezone.now()
    job.save(update_fields=["state", "problem", "lease", "leased_until", "finished_at"])
    _record_end(job, state)


def _record_end(job: PrintJob, state: str) -> None:
    record(by=job.asked_by, did=state, on=job, document=job.document, subject=str(job.subject_id))
