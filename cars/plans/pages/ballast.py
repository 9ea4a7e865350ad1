"""What to add: ballast for the weighing that decides."""

from uuid import UUID

from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from cars.figures.prediction_format import format_predicted
from cars.lookups import sheet_or_404
from cars.mechanics import MechanicsError
from cars.models import BallastPiece, Sheet
from cars.permissions import check_can_keep_car, check_can_write_sheet
from cars.plans.actions.ballast import fit_ballast, take_back_ballast
from cars.plans.pages.ballast_forms import WeighingForm, ids_in, sent_moves
from cars.plans.pages.tools import on_the_page
from cars.plans.presenters.ballast import BallastCard, ballast_cards, format_fitted
from cars.plans.queries.ballast import (
    Stock,
    Weighing,
    ballast_plans,
    ballast_seen,
    lacking,
    last_fitted,
    stock_of,
)
from cars.plans.queries.class_limits import class_limit
from cars.plans.queries.sheet_figures import SheetFigures, sheet_figures
from cars.sheets.queries.sheets import set_sheet_of
from clubsetup.access.errors import is_allowed
from clubsetup.access.models import User
from clubsetup.quantities.kinds import Kind
from clubsetup.site.pages import person, run_action


@login_required
def ballast(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Which pieces to add, move or take off, from the minimum and the fuel that are written."""
    sheet, by = sheet_or_404(request, pk), person(request)
    on_sheet = sheet_figures(sheet, by)
    limit = class_limit(sheet.car)
    left_out = ids_in(request.GET.getlist("without"))
    stock = stock_of(on_sheet, limit, left_out)
    form = WeighingForm(request.GET or None, sheet=sheet, units=on_sheet.units, limit=limit)
    missing = lacking(on_sheet, stock)
    cards: list[BallastCard] = []
    trouble = ""
    if not missing and form.is_bound and form.is_valid():
        cards, trouble = _cards(on_sheet, stock, form.weighing)
    context = {
        **on_the_page(sheet, "sheet-ballast"),
        "form": form,
        "limit": limit,
        "missing": missing,
        "placeless": stock.placeless,
        "too_large": stock.too_large,
        "elsewhere": stock.elsewhere,
        "left_out": BallastPiece.objects.filter(pk__in=left_out),
        "asked": request.GET.urlencode(),
        "seen": ballast_seen(sheet),
        "cards": cards,
        "fitted_last": [format_fitted(row) for row in last_fitted(sheet)],
        "trouble": trouble,
        "editable": _editable(by, sheet),
    }
    return render(request, "cars/plans/ballast.html", context)


def _cards(
    on_sheet: SheetFigures, stock: Stock, weighing: Weighing
) -> tuple[list[BallastCard], str]:
    try:
        plans = ballast_plans(on_sheet, stock, weighing)
    except MechanicsError as refused:
        return [], str(refused)
    short = ""
    if plans.short:
        amount = format_predicted(plans.short, Kind.MASS, on_sheet.units)
        short = f"All these pieces and mounts are {amount} short of the minimum with its margin."
    return ballast_cards(on_sheet, stock, plans.plans, weighing.driver), short


def _editable(by: User, sheet: Sheet) -> bool:
    is_open = sheet.state == Sheet.State.OPEN
    return (
        is_open
        and is_allowed(check_can_write_sheet, by, sheet)
        and is_allowed(check_can_keep_car, by, sheet.car)
    )


@login_required
@require_POST
def fitted(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Notes the pieces as fitted, moved and taken off."""
    done = "The pieces are noted where they are now. Check every bolt, and weigh the car again."
    sheet, by = sheet_or_404(request, pk), person(request)
    sent = request.POST
    moves, confirmed = sent_moves(sent.getlist("move")), ids_in(sent.getlist("confirmed"))
    given = {"by": by, "sheet": sheet, "moves": moves, "confirmed": confirmed}
    given["seen"] = sent.get("seen", "")
    if run_action(request, fit_ballast, done=done, **given) is None:
        return redirect(f"{reverse('sheet-ballast', args=[pk])}?{sent.get('asked', '')}")
    set_sheet = set_sheet_of(sheet) if sheet.role == Sheet.Role.FOUND else None
    return redirect("sheet-ballast", pk=set_sheet.pk if set_sheet else pk)


@login_required
@require_POST
def taken_back(request: HttpRequest, pk: UUID) -> HttpResponse:
    """What was noted last was never fitted."""
    done = "Taken back: the pieces are where they were, and nothing is to be read again for them."
    run_action(
        request, take_back_ballast, done=done, by=person(request), sheet=sheet_or_404(request, pk)
    )
    return redirect("sheet-ballast", pk=pk)
