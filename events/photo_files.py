"""Handing out a photo: as a picture and nothing else, to whoever the database shows it to."""

from django.http import HttpResponse

from events.models import BallastPhoto
from events.record_files import photo_name

HEADERS = {
    "Cache-Control": "private, no-store",
    "Content-Security-Policy": "default-src 'none'; frame-ancestors 'none'; sandbox",
    "Cross-Origin-Resource-Policy": "same-origin",
    "X-Content-Type-Options": "nosniff",
}


def photo_response(photo: BallastPhoto, *, small: bool = False) -> HttpResponse:
    """The picture, or the small one."""
    content = bytes(photo.small if small else photo.picture)
    response = HttpResponse(content, content_type="image/jpeg", headers=HEADERS)
    response["Content-Disposition"] = f'inline; filename="{photo_name(photo.pk)}"'
    return response
