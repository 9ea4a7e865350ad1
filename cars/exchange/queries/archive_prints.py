"""What is printed of a team: documents made for its archive, and prints that are kept."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from django.http import Http404

from cars.models import Car, Sheet
from clubsetup.access.models import User
from clubsetup.printing import store
from clubsetup.printing.models import PrintJob
from clubsetup.printing.registry import Document, all_documents, document_for
from clubsetup.printing.render import Source
from teams.models import Team

SETUP_SHEET = "sheet"


@dataclass(frozen=True)
class ArchivePrint:
    """A print to be rendered (`source`), or one that lies there already (`digest`)."""

    title: str
    source: Source | None = None
    digest: str = ""

    def stored(self) -> bytes:
        """The file's bytes; none where it was removed meanwhile."""
        path = store.path_of(self.digest)
        return path.read_bytes() if path.is_file() else b""


def prints_of(team: Team, viewer: User) -> Iterator[ArchivePrint]:
    """For each car its newest sheet as set and the documents that say they belong into an archive;
    then what the viewer had printed of the team and is still kept."""
    books = [one for one in all_documents() if one.in_archive and one.model is Car]
    for car in Car.objects.filter(team=team).order_by("number"):
        for document in books:
            yield _made(document, car, viewer)
        sheet = Sheet.objects.filter(car=car, team=team, role=Sheet.Role.SET).first()
        if sheet is not None:
            yield _made(document_for(SETUP_SHEET), sheet, viewer)
    yield from _kept(team, viewer)


def _made(document: Document, subject: Any, viewer: User) -> ArchivePrint:
    source = Source(document.page(subject, viewer), document.styles)
    return ArchivePrint(document.title(subject), source)


def _kept(team: Team, viewer: User) -> Iterator[ArchivePrint]:
    seen = set()
    jobs = PrintJob.objects.filter(asked_by=viewer, state=PrintJob.State.DONE).order_by("-id")
    for job in jobs.iterator(500):
        if job.stored_id in seen:
            continue
        try:
            document = document_for(job.document)
            subject = document.subject(job.subject_id)
        except Http404:  # gone, no longer the viewer's to see, or no print
            continue
        if document.team_of(subject) == team.pk:
            seen.add(job.stored_id)
            yield ArchivePrint(job.title, digest=str(job.stored_id))
