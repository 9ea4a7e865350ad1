"""A car over its seasons, a season on a page, and a driver across cars and classes."""

from typing import Any
from uuid import UUID

from django.contrib.auth.decorators import login_required
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from cars.catalogue.queries import cached_catalogue
from cars.history.presenters.car_history import changed_words, show_happened, show_history
from cars.history.presenters.comparison import box_name
from cars.history.presenters.seasons import show_season
from cars.history.queries.car_history import (
    USUAL,
    car_history,
    changed_most,
    keys_asked,
    season_asked,
    seasons_of,
    years_asked_of,
)
from cars.history.queries.laps_by_track import cars_driven, nights_of, nights_of_driver
from cars.lookups import car_or_404
from clubsetup.access.errors import Invalid
from clubsetup.site.list_pages import before_of
from clubsetup.site.pages import person
from teams.lookups import read_or_404
from teams.models import Driver
from teams.queries.clocks import today_of


@login_required
@require_GET
def history(request: HttpRequest, pk: UUID) -> HttpResponse:
    """One measure or two over a season or all of them."""
    car, by = car_or_404(request, pk), person(request)
    seasons = seasons_of(car)
    refused = ""
    try:
        keys = keys_asked(request.GET.getlist("measure"))
        season = season_asked(request.GET.get("season", ""), seasons)
    except Invalid as refusal:
        keys, season, refused = list(USUAL), None, refusal.message
    shown = show_history(
        car_history(car, keys, season),
        by.units(car.team.club.units()),
        before=before_of(request.GET),
    )
    context = {
        "car": car,
        "shown": shown,
        "seasons": seasons,
        "season": season,
        "choices": _choices(),
        "chosen": [str(key) for key in keys],
        "asks": _asks(request),
        "refused": refused,
    }
    status = 400 if refused else 200
    return render(request, "cars/history/car_history.html", context, status=status)


def _asks(request: HttpRequest) -> str:
    """What the address asks with, but for the page of the table."""
    asked = request.GET.copy()
    asked.pop("before", None)
    return asked.urlencode()


def _choices() -> list[tuple[str, list[tuple[str, str]]]]:
    """Every box that has a figure, by the step of the order of work."""
    known = cached_catalogue()
    return [
        (
            step.name,
            [
                (f"{measure.pk}.{spot}", box_name(measure, spot))
                for measure in known.of_step(step)
                if measure.kind
                for spot in measure.spots
            ],
        )
        for step in known.steps
    ]


@login_required
@require_GET
def season(request: HttpRequest, pk: UUID, year: int) -> HttpResponse:
    """A season of a car: what it came to, and the laps by track."""
    car, by = car_or_404(request, pk), person(request)
    nights, seasons = nights_of(car, year), seasons_of(car)
    if not nights and year not in seasons:
        raise Http404
    units = by.units(car.team.club.units())
    context: dict[str, Any] = {
        "car": car,
        "year": year,
        "seasons": seasons,
        "shown": show_season(nights, units),
        "happened": show_happened(car_history(car, USUAL, year), units),
        "changed": changed_words(changed_most(car, year)),
    }
    return render(request, "cars/history/season.html", context)


@login_required
@require_GET
def driver_seasons(request: HttpRequest, pk: UUID) -> HttpResponse:
    """A driver across cars and classes, for the team and its linked coach."""
    by = person(request)
    driver = read_or_404(by, Driver.objects.select_related("team__club"), pk)
    this_year = today_of(by).year
    year = season_asked(request.GET.get("season", ""), years_asked_of(this_year))
    nights = nights_of_driver(driver, year)
    context = {
        "driver": driver,
        "year": year,
        "years": range(this_year, this_year - 4, -1),
        "cars": cars_driven(nights),
        "shown": show_season(nights, by.units(driver.team.club.units())),
    }
    return render(request, "cars/history/driver_seasons.html", context)
