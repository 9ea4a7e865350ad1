"""Handing out a finished print."""

from django.http import FileResponse, Http404
from django.utils.text import slugify

from clubsetup.printing import store
from clubsetup.printing.models import PrintJob
from clubsetup.printing.registry import kind_for


def file_response(job: PrintJob) -> FileResponse:
    """The job's file; Http404 while there is none, or where the viewer may not see its subject."""
    kind = kind_for(job.document)
    kind.subject(job.subject_id)
    if job.stored_id is None:
        raise Http404("This print is not ready.")
    try:
        content = store.path_of(job.stored_id, kind.suffix).open("rb")
    except FileNotFoundError:
        raise Http404("The file of this print is gone. Ask for it again.") from None
    name = f"{slugify(job.title) or job.document}{kind.suffix}"
    response = FileResponse(content, filename=name, content_type=kind.content_type)
    response["X-Content-Type-Options"] = "nosniff"
    response["Cache-Control"] = "private, no-store"
    return response
