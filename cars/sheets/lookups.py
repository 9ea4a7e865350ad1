"""The sheet that an address names, if whoever looks may see it; else 404."""

from uuid import UUID

from django.http import Http404, HttpRequest
from rest_framework.request import Request

from cars.models import Sheet
from cars.sheets.queries.sheet_view import find_sheet
from clubsetup.site.pages import person
from teams.queries.reads import note_reader


def sheet_or_404(request: HttpRequest | Request, pk: UUID) -> Sheet:
    """A sheet with what its head shows; a reader from outside stands in the team's trail."""
    sheet = find_sheet(pk)
    if sheet is None:
        raise Http404
    note_reader(person(request), sheet.team_id, sheet)
    return sheet
