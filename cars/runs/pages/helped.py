"""Did it help: the runs after a change against those before it."""

from uuid import UUID

from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from cars.lookups import car_or_404
from cars.runs.presenters.helped import show_help
from cars.runs.presenters.track import show_run
from cars.runs.queries.helped import MOST_COMPARED, compare
from cars.runs.queries.runs import noted, runs_of
from clubsetup.access.errors import Invalid
from clubsetup.access.ids import id_or_none
from clubsetup.site.list_pages import before_of, page_of
from clubsetup.site.pages import person

OLDER = "older"


@login_required
def did_it_help(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Runs of a car, each before the change, after it or neither, and what they say."""
    car, by = car_or_404(request, pk), person(request)
    units = by.units(car.team.club.units())
    groups = {
        name: [chosen for text in request.GET.getlist(name) if (chosen := id_or_none(text))]
        for name in ("before", "after")
    }
    compared, refused = None, ""
    # Turning the page with one group ticked is no question yet.
    if all(groups.values()) or (any(groups.values()) and OLDER not in request.GET):
        try:
            compared = compare(car, groups["before"], groups["after"])
        except Invalid as refusal:
            refused = refusal.message
    shown = show_help(compared.help, pair=compared.is_pair) if compared else None
    # The page of a run asks for the answer alone.
    if shown and request.headers.get("HX-Request") == "true":
        return render(request, "cars/runs/_help_brief.html", {"shown": shown})
    rows = runs_of(car).filter(laps__replaced_at=None, laps__isnull=False)
    page, older = page_of(rows, MOST_COMPARED, before_of(request.GET, OLDER), OLDER)
    context = {
        "car": car,
        "runs": [(show_run(noted(run), units), _group(run.pk, groups)) for run in page],
        "older": older,
        "older_by": OLDER,
        "elsewhere": _elsewhere({run.pk for run in page}, groups),
        "shown": shown,
        "refused": refused,
    }
    return render(request, "cars/runs/helped.html", context, status=400 if refused else 200)


def _group(run: UUID, groups: dict[str, list[UUID]]) -> str:
    return next((name for name, chosen in groups.items() if run in chosen), "")


def _elsewhere(here: set[UUID], groups: dict[str, list[UUID]]) -> list[tuple[str, UUID]]:
    """What is chosen on other pages of the list."""
    return [(name, run) for name, chosen in groups.items() for run in chosen if run not in here]
