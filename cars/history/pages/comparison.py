"""Sheets side by side, and choosing them."""

from typing import Any
from uuid import UUID

from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import redirect, render
from django.views.decorators.http import require_GET, require_POST

from cars.history.actions.comparisons import print_comparison
from cars.history.presenters.comparison import show_comparison
from cars.history.queries.comparison import (
    LEAST,
    MOST,
    ComparedSheets,
    compare_sheets,
    ids_of,
    newest_set_sheets,
    sheets_named,
    sheets_to_choose,
)
from cars.history.responses import comparison_file
from cars.lookups import car_or_404
from cars.models import Sheet
from clubsetup.access.errors import Invalid
from clubsetup.access.ids import id_or_none
from clubsetup.access.models import User
from clubsetup.site.list_pages import before_of, page_of
from clubsetup.site.pages import person
from teams.queries.reads import note_readers
from teams.queries.roles import roles_of

A_PAGE = 30


@login_required
@require_GET
def compare(request: HttpRequest) -> HttpResponse:
    """Two to twelve sheets, or the newest as set of so many cars, held against the first."""
    if not {"sheets", "cars"} & request.GET.keys():
        return _choose(request)
    try:
        compared = _compared(person(request), request.GET)
    except Invalid as refusal:
        return _choose(request, refused=refusal.message)
    view = show_comparison(compared, person(request))
    context = {"view": view, "ids": ",".join(str(each.sheet.pk) for each in compared.sheets)}
    return render(request, "cars/history/comparison.html", context)


@login_required
@require_GET
def choose(request: HttpRequest) -> HttpResponse:
    """The sheets that one may see, to tick two to twelve of them."""
    return _choose(request)


@login_required
@require_GET
def of_car(request: HttpRequest, pk: UUID) -> HttpResponse:
    """The same of one car: its newest sheets first."""
    car = car_or_404(request, pk)
    return _choose(request, car=car)


@login_required
@require_POST
def on_paper(request: HttpRequest) -> HttpResponse:
    try:
        print_comparison(by=person(request), sheets=ids_of(request.POST.getlist("sheets")))
    except Invalid as refusal:
        return _choose(request, refused=refusal.message)
    return redirect("prints")


@login_required
@require_GET
def file(request: HttpRequest) -> HttpResponse:
    """As CSV or XLSX."""
    try:
        compared = _compared(person(request), request.GET)
        return comparison_file(compared, person(request), request.GET.get("as", ""))
    except Invalid as refusal:
        return _choose(request, refused=refusal.message)


def _compared(by: User, asked: QueryDict) -> ComparedSheets:
    if asked.getlist("cars"):
        ids = newest_set_sheets(ids_of(asked.getlist("cars")))
    else:
        ids = ids_of(asked.getlist("sheets"))
    first = id_or_none(asked.get("against", ""))
    ids = [first, *(pk for pk in ids if pk != first)] if first in ids else ids
    compared = compare_sheets(ids)
    note_readers(by, (each.sheet.team_id for each in compared.sheets))
    return compared


def _choose(request: HttpRequest, car: Any = None, refused: str = "") -> HttpResponse:
    """What was chosen is ticked; the rest page by page."""
    by = person(request)
    asked = request.POST if request.method == "POST" else request.GET
    texts = [text for each in asked.getlist("sheets") for text in each.split(",")]
    ids = [pk for text in texts if (pk := id_or_none(text.strip())) is not None]
    chosen = sheets_named(list(dict.fromkeys(ids))[: 2 * MOST])
    rows = sheets_to_choose(roles_of(by).readable_teams, car.pk if car else None)
    page, older = page_of(rows, A_PAGE, before_of(asked))
    if car and not texts:  # this time and last time
        chosen = [sheet for sheet in page if sheet.role == Sheet.Role.SET][:LEAST]
    ticked = {sheet.pk for sheet in chosen}
    note_readers(by, (sheet.team_id for sheet in [*chosen, *page]))
    context = {
        "car": car,
        "chosen": chosen,
        "sheets": [sheet for sheet in page if sheet.pk not in ticked],
        "older": older,
        "refused": refused,
    }
    return render(request, "cars/history/choose.html", context, status=400 if refused else 200)
