"""Handing out a finished print."""

from django.http import FileResponse, Http404
from django.utils.text import slugify

from clubsetup.printing import store
from clubsetup.printing.models import PrintJob
from clubsetup.printing.registry import document_for


def file_response(job: PrintJob) -> FileResponse:
    """The job's file; Http404 while there is none, or where the viewer may not see its subject."""
    document_for(job.document).subject(job.subject_id)
    if job.stored_id is None:
        raise Http404("This print is not ready.")
    try:
        content = store.path_of(job.stored_id).open("rb")
    except FileNotFoundError:
        raise Http404("The file of this print is gone. Ask for it again.") from None
    name = f"{slugify(job.title) or job.document}.pdf"
    response = FileResponse(content, filename=name, content_type="application/pdf")
    response["X-Content-Type-Options"] = "nosniff"
    response["Cache-Control"] = "private, no-store"
    return response
