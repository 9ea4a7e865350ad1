"""Handing out an event's records as a file, and a photo as a picture, for pages and API alike."""

import tempfile

from django.http import FileResponse, HttpResponse, HttpResponseBase
from django.utils.text import slugify

from clubsetup.access.models import User
from events.models import BallastPhoto, Event
from events.records.actions.export import export_records, export_with_photos
from events.records.files.chain_file import photo_name

TYPES = {
    "json": "application/json; charset=utf-8",
    "csv": "text/csv; charset=utf-8",
    "zip": "application/zip",
}
PICTURE_HEADERS = {
    "Cache-Control": "private, no-store",
    "Content-Security-Policy": "default-src 'none'; frame-ancestors 'none'; sandbox",
    "Cross-Origin-Resource-Policy": "same-origin",
    "X-Content-Type-Options": "nosniff",
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


def photo_response(photo: BallastPhoto, *, small: bool = False) -> HttpResponse:
    """A picture and nothing else, or the small one, to whoever the database shows it to."""
    content = bytes(photo.small if small else photo.picture)
    response = HttpResponse(content, content_type="image/jpeg", headers=PICTURE_HEADERS)
    response["Content-Disposition"] = f'inline; filename="{photo_name(photo.pk)}"'
    return response
