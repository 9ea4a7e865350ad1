"""A family's own results."""

from uuid import UUID

from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render

from clubsetup.site.list_pages import before_of, page_of
from clubsetup.site.pages import person
from events.permissions import check_can_see_results
from events.presenters.results import results_of
from events.queries.results import entries_of
from teams.models import Team
from teams.queries.reads import note_reader

A_PAGE = 20


@login_required
def team_results(request: HttpRequest, pk: UUID) -> HttpResponse:
    """What a team's entries came to, and what would make them legal."""
    team = get_object_or_404(Team.objects.select_related("club"), pk=pk)
    check_can_see_results(person(request), team)
    note_reader(person(request), pk, team)
    units = person(request).units(team.club.units())
    entries, older = page_of(entries_of([team.pk]), A_PAGE, before_of(request.GET))
    context = {"team": team, "results": results_of(entries, units), "units": units, "older": older}
    return render(request, "events/results.html", context)
