"""The things an address names, if whoever asks may see them; else 404."""

from uuid import UUID

from django.http import Http404
from rest_framework.request import Request

from cars.models import Sheet
from cars.sheets.queries.sheet_view import find_sheet
from clubsetup.access.api.me import asking
from teams.queries.reads import note_reader


def sheet_or_404(request: Request, pk: UUID) -> Sheet:
    """A sheet with what its head shows; a reader from outside stands in the team's trail."""
    found = find_sheet(pk)
    if found is None:
        raise Http404
    note_reader(asking(request), found.team_id, found)
    return found
