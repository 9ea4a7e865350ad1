"""Drift: what moved by itself since the car was set."""

from uuid import UUID

from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from cars.catalogue.queries import cached_catalogue
from cars.lookups import car_or_404
from cars.plans.presenters.drift import drift_lines
from cars.plans.queries.drift import car_drift
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
    }
    # The car's page asks for the few lines that matter, once it is there itself.
    brief = request.headers.get("HX-Request") == "true"
    return render(request, f"cars/plans/{'_drift_brief' if brief else 'drift'}.html", context)
