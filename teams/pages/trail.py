"""The trail of a team and of a club."""

from uuid import UUID

from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render

from clubsetup.site.list_pages import before_of
from clubsetup.site.pages import person
from teams.models import Club, Team
from teams.permissions import check_can_crew, check_can_steward
from teams.presenters.trail import TrailPage, club_trail, team_trail


def _page(request: HttpRequest, of: Club | Team, page: TrailPage) -> HttpResponse:
    context = {"of": of, "lines": page.lines, "older": page.older}
    return render(request, "teams/trail.html", context)


@login_required
def team_trail_page(request: HttpRequest, pk: UUID) -> HttpResponse:
    """What was done in a team."""
    team, by = get_object_or_404(Team.objects.select_related("club"), pk=pk), person(request)
    check_can_crew(by, team)
    units = by.units(team.club.units())
    return _page(request, team, team_trail(team, before_of(request.GET), units=units))


@login_required
def club_trail_page(request: HttpRequest, pk: UUID) -> HttpResponse:
    """What was done in a club."""
    club, by = get_object_or_404(Club, pk=pk), person(request)
    check_can_steward(by, club)
    units = by.units(club.units())
    return _page(request, club, club_trail(club, before_of(request.GET), units=units))
