"""The things an address names, if whoever is looking may see them; else 404."""

from uuid import UUID

from django.http import Http404, HttpRequest

from cars.models import Sheet
from cars.sheets.queries.sheet_view import find_sheet
from clubsetup.site.pages import person
from teams.queries.reads import note_reader


def sheet_or_404(request: HttpRequest, pk: UUID) -> Sheet:
    """A sheet with what its head shows; a reader from outside stands in the team's trail."""
    found = find_sheet(pk)
    if found is None:
        raise Http404
    note_reader(person(request), found.team_id, found)
    return found
