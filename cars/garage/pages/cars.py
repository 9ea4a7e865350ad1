"""The cars somebody sees, and one car."""

from uuid import UUID

from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse

from cars.baselines.pages.sidebar import car_sidebar
from cars.bench.presenters.car_sections import car_sections
from cars.garage.actions.cars import add_car, edit_car
from cars.garage.pages.forms import AddCarForm, CarForm
from cars.garage.presenters.car_blocks import car_blocks, team_blocks
from cars.garage.presenters.car_links import car_links
from cars.garage.queries import car_lines
from cars.lookups import car_or_404, read_sheet_of, team_or_404
from cars.models import Car, Sheet
from cars.permissions import check_can_keep_car, check_can_open_sheet
from cars.sheets.presenters.drawing import DRAWN, drawing_of
from cars.sheets.presenters.sheet_view import sheet_view
from cars.sheets.queries.sheets import sheets_of
from clubsetup.access.errors import is_allowed
from clubsetup.site.list_pages import before_of, page_of
from clubsetup.site.pages import form_page, person, submit_action
from teams.permissions import check_can_crew

A_FEW = 8
A_PAGE = 40


@login_required
def cars(request: HttpRequest) -> HttpResponse:
    """The cars of one's own teams and of those one coaches."""
    return render(request, "cars/garage/cars.html", {"teams": team_blocks(person(request))})


@login_required
def car(request: HttpRequest, pk: UUID) -> HttpResponse:
    """What is next for a car, the car from above with its latest figures, and its sheets."""
    car, by = car_or_404(request, pk), person(request)
    (shown,) = car_blocks(car_lines([car], by), by)
    sheets = list(sheets_of([car])[: A_FEW + 1])
    context = {
        "car": car,
        "shown": shown,
        "links": car_links(car, by),
        "said": car_sections(car.pk, car.team_id, by),
        **_latest(request, car, shown.line.sheet),
        "sheets": sheets[:A_FEW],
        "has_more": len(sheets) > A_FEW,
        "pieces": car.ballast_pieces.select_related("mount"),
        "ownerships": car.ownerships.select_related("team"),
        "may_keep": is_allowed(check_can_keep_car, by, car),
        "may_open": is_allowed(check_can_open_sheet, by, car),
        **car_sidebar(car, by),
    }
    return render(request, "cars/garage/car.html", context)


def _latest(request: HttpRequest, car: Car, newest: Sheet | None) -> dict[str, object]:
    if newest is None:
        return {"latest": None}
    sheet = read_sheet_of(request, car, newest)
    view = sheet_view(sheet, person(request), written=DRAWN)
    return {"latest": sheet, "view": view, "drawing": drawing_of(view)}


@login_required
def car_sheets(request: HttpRequest, pk: UUID) -> HttpResponse:
    car = car_or_404(request, pk)
    sheets, older = page_of(sheets_of([car]), A_PAGE, before_of(request.GET))
    context = {
        "car": car,
        "sheets": sheets,
        "older": older,
        "may_open": is_allowed(check_can_open_sheet, person(request), car),
    }
    return render(request, "cars/garage/car_sheets.html", context)


@login_required
def car_add(request: HttpRequest, pk: UUID) -> HttpResponse:
    team, by = team_or_404(pk), person(request)
    check_can_crew(by, team)
    form = AddCarForm(request.POST or None, team=team)
    if submit_action(form, add_car, by=by, team=team):
        return redirect("car", pk=form.outcome.pk)
    back = reverse("cars")
    return form_page(
        request, form, title=f"A car of {team}", button="Add the car", back=back, back_to="Cars"
    )


@login_required
def car_edit(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Changes number, name, chassis, class and baseline."""
    car, by = car_or_404(request, pk), person(request)
    check_can_keep_car(by, car)
    form = CarForm(request.POST or None, team=car.team, car=car)
    if submit_action(form, edit_car, by=by, car=car):
        return redirect("car", pk=pk)
    back = reverse("car", args=[pk])
    return form_page(request, form, title=f"Car {car}", button="Save", back=back, back_to=str(car))
