"""A driver's progress."""

from uuid import UUID

from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from cars.history.presenters.progress import progress_shown
from cars.history.queries.progress import before_of, by_of, progress_of
from cars.mechanics.steadiness import FEWEST_LAPS, STEADY_WITHIN
from cars.permissions import check_can_see_progress
from clubsetup.site.pages import person
from teams.lookups import read_or_404
from teams.models import Driver


@login_required
@require_GET
def progress(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Of one driver, for the crew and the coach the team lets in."""
    by = person(request)
    driver = read_or_404(by, Driver.objects.select_related("team__club"), pk)
    check_can_see_progress(by, driver)
    asked = by_of(request.GET.get("by", "week"))
    found = progress_of(driver, asked, before_of(request.GET.get("before")))
    context = {
        "driver": driver,
        "shown": progress_shown(found),
        "by": asked,
        "choices": [("week", "Week by week"), ("day", "Day by day")],
        "fewest": FEWEST_LAPS,
        "within": f"{STEADY_WITHIN:g}",
    }
    return render(request, "cars/history/progress.html", context)
