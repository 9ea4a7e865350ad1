"""A sheet to take a reading on, if whoever asks may see it; else 404."""

from uuid import UUID

from django.http import Http404

from cars.bench.queries.versions import sheet_to_write
from cars.models import Sheet


def writable_sheet_or_404(pk: UUID) -> Sheet:
    """A sheet with as much of it as taking a reading asks for."""
    sheet = sheet_to_write(pk)
    if sheet is None:
        raise Http404
    return sheet
