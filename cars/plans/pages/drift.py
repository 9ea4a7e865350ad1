"""Drift: what moved by itself since the car was set."""

from uuid import UUID

from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse

from cars.catalogue.queries import cached_catalogue
from cars.lookups import car_or_404
from cars.permissions import check_can_see_parts
from cars.plans.presenters.drift import drift_lines
from cars.plans.presenters.drift_groups import place_lines
from cars.plans.queries.drift import car_drift
from cars.plans.queries.drift_groups import drift_by_part, drift_by_track
from clubsetup.access.errors import is_allowed
from clubsetup.site.pages import person


@login_required
def drift(request: HttpRequest, pk: UUID) -> HttpResponse:
    """From left to found: the latest weekend against the car's habit."""
    car, by, known = car_or_404(request, pk), person(request), cached_catalogue()
    latest = car_drift(car, known)
    units = by.units(car.team.club.units())
    lines = drift_lines(latest, known, units)
    context = {
        "car": car,
        "drift": latest,
        "moved": [line for line in lines if line.state == "bad"],
        "others": [line for line in lines if line.state != "bad" and line.moved != "0"],
        "still": sum(line.moved == "0" for line in lines),
        "may_see_parts": is_allowed(check_can_see_parts, by, car.team),
    }
    # The car's page asks for the few lines that matter, once it is there itself.
    brief = request.headers.get("HX-Request") == "true"
    return render(request, f"cars/plans/{'_drift_brief' if brief else 'drift'}.html", context)


NONE_YET = (
    "Nothing to tell apart yet. It takes a sheet as set and the next one as found, with {what}, "
    "and a place that moved in between."
)


@login_required
def by_part(request: HttpRequest, pk: UUID) -> HttpResponse:
    """The same by the part that was on, for who may see the codes."""
    car, by, known = car_or_404(request, pk), person(request), cached_catalogue()
    check_can_see_parts(by, car.team)
    units = by.units(car.team.club.units())
    context = {
        "car": car,
        "title": "Drift by part",
        "column": "Part",
        "how": "Counted for the part that was on by the sheet as set, and not swapped since.",
        "places": place_lines(drift_by_part(car, known), known, units),
        "nothing": NONE_YET.format(what="parts on them"),
        "other": "By track",
        "other_url": reverse("drift-by-track", args=[pk]),
    }
    return render(request, "cars/plans/drift_groups.html", context)


@login_required
def by_track(request: HttpRequest, pk: UUID) -> HttpResponse:
    """The same by the track the car ran at."""
    car, by, known = car_or_404(request, pk), person(request), cached_catalogue()
    units = by.units(car.team.club.units())
    may_see_parts = is_allowed(check_can_see_parts, by, car.team)
    context = {
        "car": car,
        "title": "Drift by track",
        "column": "Track",
        "how": "Counted for the track that the two sheets name.",
        "places": place_lines(drift_by_track(car, known), known, units),
        "nothing": NONE_YET.format(what="one track"),
        "other": "By part",
        "other_url": reverse("drift-by-part", args=[pk]) if may_see_parts else "",
    }
    return render(request, "cars/plans/drift_groups.html", context)
