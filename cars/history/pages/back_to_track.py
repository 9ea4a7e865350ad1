"""Back to a track: how a car was set there, and the way from how it stands to one of these."""

from typing import Any
from uuid import UUID

from django.contrib.auth.decorators import login_required
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET

from cars.bench.actions import start_bench
from cars.bench.queries.open_benches import benches_to_go_on_with
from cars.history.presenters.back_to_track import fastest_words, show_places, show_there
from cars.history.presenters.way_back import show_way_back
from cars.history.queries.back_to_track import (
    A_PAGE,
    fastest_of,
    place_asked,
    places_of,
    sheets_at,
    with_runs,
)
from cars.history.queries.way_back import way_back
from cars.lookups import car_or_404, set_sheet_or_404
from cars.models import Sheet
from cars.permissions import check_can_open_sheet
from clubsetup.access.errors import is_allowed
from clubsetup.site.list_pages import before_of, page_of
from clubsetup.site.pages import person, run_action


@login_required
@require_GET
def back_to_track(request: HttpRequest, pk: UUID) -> HttpResponse:
    """The sheets as set at a track and surface, the newest first; without one chosen, where the
    car was set last."""
    car, by = car_or_404(request, pk), person(request)
    units, before = by.units(car.team.club.units()), before_of(request.GET)
    places = places_of(car)
    asked = request.GET.get("track", "")
    place = place_asked(places, asked, request.GET.get("surface", ""))
    if asked and place is None:
        raise Http404
    context: dict[str, Any] = {"car": car, "places": show_places(places, place), "place": place}
    if place is not None:
        rows = sheets_at(car, place.track, place.surface)
        page, older = page_of(rows, A_PAGE, before)
        there = with_runs(car, page)
        if request.headers.get("HX-Request") == "true":
            words = fastest_words(fastest_of(car, there), there)
            return render(request, "cars/history/_fastest.html", {"words": words})
        context |= {
            "lines": [show_there(each, units) for each in there],
            "older": older,
            "asks": f"track={place.track.pk}&surface={place.surface}",
            "fastest_at": request.get_full_path(),
        }
    return render(request, "cars/history/back_to_track.html", context)


@login_required
def way_back_page(request: HttpRequest, pk: UUID) -> HttpResponse:
    """What to turn, swap and add for the car to stand as on that sheet; sent, a bench opens with
    the sheet as its target."""
    sheet, by = set_sheet_or_404(request, pk), person(request)
    car = sheet.car
    if request.method == "POST":
        opened = run_action(
            request,
            start_bench,
            done="A sheet as found is open, with the sheet of that day as its target.",
            by=by,
            car=car,
            role=Sheet.Role.FOUND,
            target=sheet,
            track=sheet.track,
        )
        return redirect("bench", pk=opened.pk) if opened else redirect(request.path)
    shown = show_way_back(way_back(car, sheet, by), by.units(car.team.club.units()))
    may_open = is_allowed(check_can_open_sheet, by, car)
    context = {
        "car": car,
        "shown": shown,
        "may_open": may_open,
        "open_now": benches_to_go_on_with([car]) if may_open else [],
    }
    return render(request, "cars/history/way_back.html", context)
