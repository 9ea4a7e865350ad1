"""Handing out an event's records as a file."""

import tempfile

from django.http import FileResponse, HttpResponse, HttpResponseBase
from django.utils.text import slugify

from clubsetup.access.models import User
from events.actions.records import export_records, export_with_photos
from events.models import Event

TYPES = {
    "json": "application/json; charset=utf-8",
    "csv": "text/csv; charset=utf-8",
    "zip": "application/zip",
}


def records_response(*, by: User, event: Event, kind: str) -> HttpResponseBase:
    """The records as a file to keep. Raises Invalid for a kind that is none."""
    answer: HttpResponseBase
    if kind == "zip":
        packed = tempfile.TemporaryFile()  # noqa: SIM115 - the response closes it
        export_with_photos(by=by, event=event, to=packed)
        packed.seek(0)
        answer = FileResponse(packed, content_type=TYPES[kind])
    else:
        text = export_records(by=by, event=event, kind=kind)
        answer = HttpResponse(text, content_type=TYPES[kind])
    name = f"{slugify(event.name) or 'event'}-records.{kind}"
    answer["Content-Disposition"] = f'attachment; filename="{name}"'
    answer["Cache-Control"] = "private, no-store"
    return answer
