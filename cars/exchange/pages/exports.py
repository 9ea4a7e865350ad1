"""Taking away what is kept of a team, and the schema to read it by."""

from uuid import UUID

from django.conf import settings
from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_GET, require_POST

from cars.exchange.actions.exports import export_team
from cars.exchange.files.archive_schema import published_schema
from cars.exchange.presenters.record_exports import record_exports
from cars.exchange.queries.exports import archives_of, exports_of, teams_to_export
from cars.lookups import team_or_404
from clubsetup.site.list_pages import before_of, page_of
from clubsetup.site.pages import person
from teams.queries.roles import roles_of

A_PAGE = 10


@login_required
@require_GET
@never_cache
def exports(request: HttpRequest) -> HttpResponse:
    """Whose archive one may have, what was made, and where the official record is taken away."""
    by = person(request)
    jobs, older = page_of(exports_of(by), A_PAGE, before_of(request.GET))
    context = {
        "teams": [(team, roles_of(by).is_crew(team.pk)) for team in teams_to_export(by)],
        "jobs": jobs,
        "older": older,
        "came": archives_of(by).select_related("team", "by")[:A_PAGE],
        "records": list(record_exports(by)),
        "days": settings.PRINT_KEEP_DAYS,
    }
    return render(request, "cars/exchange/exports.html", context)


@login_required
@require_POST
def make_export(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Asks for the archive of a team; it is made in the background."""
    export_team(by=person(request), team=team_or_404(pk))
    return redirect("exports")


@require_GET
def schema(_request: HttpRequest) -> HttpResponse:
    """The schema of the JSON in an archive; it says nothing of anybody."""
    return HttpResponse(published_schema(), content_type="application/schema+json")
