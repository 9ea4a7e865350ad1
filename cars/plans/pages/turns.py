"""What to turn: plans, 'what if', accepting one, weighing again, and what the car has taught."""

from decimal import Decimal
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from cars.catalogue.keys import Key
from cars.catalogue.queries import catalogue
from cars.lookups import car_or_404, sheet_or_404
from cars.mechanics import CORNER_NAMES, BadInput, Corners
from cars.mechanics.linear_response import LinearResponse
from cars.models import Plan, Sheet
from cars.permissions import check_can_keep_car, check_can_write_sheet
from cars.plans.actions.turns import accept_plan, reset_calibration
from cars.plans.pages.forms import (
    MOST_SLID,
    ResetForm,
    TargetsForm,
    WeighCorner,
    sent_weights,
    weigh_corners,
    weights_seen,
)
from cars.plans.pages.signed_state import read_signed, sign
from cars.plans.pages.tools import on_the_page
from cars.plans.presenters.display_context import PlanDisplayContext, plan_display_context
from cars.plans.presenters.one_turn import format_learned, format_one_turn
from cars.plans.presenters.turns import (
    forecast,
    format_rates,
    plan_cards,
    plan_report,
    turn_notes,
    what_if_corners,
)
from cars.plans.queries.calibration import calibration_of, plan_page
from cars.plans.queries.plan_params import sent_turns, wanted_cross
from cars.plans.queries.turns import TurnTable, turn_plans, turn_table
from cars.sheets.actions.readings import take_same_again
from cars.sheets.actions.save_boxes import save_together
from cars.sheets.pages.boxes import SEEN
from cars.sheets.queries.sheets import set_sheet_of
from clubsetup.access.errors import Invalid, WrongState, is_allowed
from clubsetup.access.models import User
from clubsetup.site.list_pages import before_of
from clubsetup.site.pages import form_page, person, run_action, submit_action


@login_required
def turn(request: HttpRequest, pk: UUID) -> HttpResponse:
    """What to turn to bring cross and ride heights to target, with one corner or up to four."""
    sheet, by = sheet_or_404(request, pk), person(request)
    cross = wanted_cross(request.GET)
    table = turn_table(sheet, by, targets_from=request.GET.get("targets", ""), cross=cross)
    return _turn_page(request, table)


def _turn_page(
    request: HttpRequest,
    table: TurnTable,
    weigh: list[WeighCorner] | None = None,
    status: int = 200,
) -> HttpResponse:
    sheet, units = table.on_sheet.sheet, table.on_sheet.units
    outcomes = table.calibration.outcomes if table.calibration else ()
    here = [outcome for outcome in outcomes if outcome.plan.sheet_id == sheet.pk]
    page = plan_page(here, most=len(here))
    cards = plan_cards(table, turn_plans(table))
    best = None if table.on_target else next((card for card in cards if card.best), None)
    context = {
        **on_the_page(sheet, "sheet-turn"),
        "table": table,
        "notes": turn_notes(table),
        "learned": format_learned(table.calibration),
        "seen": table.seen,
        "best": best,
        "others": [card for card in cards if card is not best],
        "targets_form": TargetsForm(request.GET or None, on_sheet=table.on_sheet),
        "plan_reports": [plan_report(units, *each) for each in page.plans],
        "pending": bool(here) and here[-1].is_pending,
        "editable": _editable(request, sheet),
        "set_sheet": set_sheet_of(sheet) if sheet.role == Sheet.Role.FOUND else None,
        "corners": weigh or weigh_corners(units),
        "seen_name": SEEN,
        "weights_seen": weights_seen(table.on_sheet),
    }
    return render(request, "cars/plans/turn.html", context, status=status)


def _editable(request: HttpRequest, sheet: Sheet) -> bool:
    is_open = sheet.state == Sheet.State.OPEN
    return is_open and is_allowed(check_can_write_sheet, person(request), sheet)


@login_required
def what_if(request: HttpRequest, pk: UUID) -> HttpResponse:
    """What turns of one's own would give: sliders, and without a script a form."""
    sheet, by, sent = sheet_or_404(request, pk), person(request), request.GET
    table = turn_table(sheet, by, targets_from=sent.get("targets", ""), cross=wanted_cross(sent))
    editable = _editable(request, sheet)
    answer = _answer(sent.dict(), table.linear, plan_display_context(table))
    context = {
        **on_the_page(sheet, "sheet-what-if"),
        **answer,
        "table": table,
        "most": MOST_SLID,
        "sealed": sign(table, by, editable=editable),
        "seen": table.seen,
        "targets_from": sent.get("targets", ""),
        "cross": sent.get("cross", ""),
        "editable": editable,
    }
    return render(request, "cars/plans/what_if.html", context)


@login_required
@require_POST
def what_if_answer(request: HttpRequest, pk: UUID) -> HttpResponse:
    """The answer to a slider, from the car that the page carries; no row is read."""
    carried = read_signed(request.POST.get("sealed", ""), person(request))
    if carried is None or carried.sheet != pk:
        raise WrongState("This page has been open too long. Load it again.")
    context = {
        **_answer(request.POST.dict(), carried.linear, carried.frame),
        "sheet": {"pk": carried.sheet},
        "seen": carried.seen,
        "editable": carried.editable,
    }
    return render(request, "cars/plans/_what_if_answer.html", context)


def _answer(
    sent: dict[str, str], linear: LinearResponse | None, frame: PlanDisplayContext
) -> dict[str, Any]:
    turns, trouble, shown = [Decimal(0)] * len(CORNER_NAMES), "", None
    try:
        turns = sent_turns(sent)
        if linear is not None:
            what = linear.predict(Corners.of(float(turn) for turn in turns))
            shown = forecast(frame, what)
    except (Invalid, BadInput) as refused:
        trouble = str(refused)
    return {
        "corners": what_if_corners(turns, shown),
        "values": ",".join(f"{value:f}" for value in turns),
        "any": any(turns),
        "forecast": shown,
        "trouble": trouble,
    }


@login_required
@require_POST
def turn_accept(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Notes the turns as made."""
    sheet, by = sheet_or_404(request, pk), person(request)
    plan = run_action(
        request,
        _accept,
        done="The turns are noted. Settle the car and weigh it again.",
        by=by,
        sheet=sheet,
        sent=request.POST.dict(),
    )
    noted_on = plan.sheet_id if plan else pk
    return redirect(reverse("sheet-turn", args=[noted_on]) + "#weigh")


def _accept(*, by: User, sheet: Sheet, sent: dict[str, str]) -> Plan:
    return accept_plan(by=by, sheet=sheet, turns=sent_turns(sent), seen=sent.get("seen", ""))


@login_required
@require_POST
def weigh(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Keeps weights and heights read just now, even where they say what stood there."""
    sheet, by = sheet_or_404(request, pk), person(request)
    check_can_write_sheet(by, sheet)
    boxes = sent_weights(request.POST)
    try:
        wrong = save_together(by, sheet, boxes, catalogue().measures)
    except WrongState as refused:
        messages.error(request, str(refused))
        return redirect("sheet-turn", pk=pk)
    if wrong:
        table = turn_table(sheet, by)
        corners = weigh_corners(table.on_sheet.units, boxes, wrong)
        return _turn_page(request, table, corners, status=400)
    messages.success(request, f"Saved: {len(boxes)} reading{'' if len(boxes) == 1 else 's'}.")
    return redirect("sheet-turn", pk=pk)


@login_required
@require_POST
def same_again(request: HttpRequest, pk: UUID) -> HttpResponse:
    """A box was read again and says the same."""
    sheet, by = sheet_or_404(request, pk), person(request)
    name, _, seen = request.POST.get("again", "").partition(" ")
    try:
        key, reading = Key.of(name), UUID(seen)
    except ValueError as wrong:
        raise Invalid("again", "Say which box was read again.") from wrong
    run_action(
        request,
        take_same_again,
        done="Same again: it stands as read.",
        by=by,
        sheet=sheet,
        key=key,
        seen=reading,
    )
    measure = catalogue().measures.get(key.measure)
    return redirect(reverse("sheet", args=[pk]) + (f"#{measure.step_id}" if measure else ""))


@login_required
def calibration(request: HttpRequest, pk: UUID) -> HttpResponse:
    """What a car has taught so far, the plans newest first; `?before=` a plan, those before it."""
    car, by = car_or_404(request, pk), person(request)
    calibration = calibration_of(car, catalogue())
    page = plan_page(calibration.outcomes, before=before_of(request.GET))
    units = by.units(car.team.club.units())
    context = {
        "car": car,
        "calibration": calibration,
        "learned": format_learned(calibration),
        "one_turn": [
            format_one_turn(one, learned=bool(calibration.learned)) for one in calibration.one_turn
        ],
        "rates": format_rates(calibration) if calibration.learned else [],
        "plan_reports": [plan_report(units, *each) for each in page.plans],
        "earlier": page.earlier,
        "may_keep": is_allowed(check_can_keep_car, by, car),
    }
    return render(request, "cars/plans/calibration.html", context)


@login_required
def calibration_reset(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Asks why, and learns the car anew."""
    car, by = car_or_404(request, pk), person(request)
    check_can_keep_car(by, car)
    form = ResetForm(request.POST or None)
    if submit_action(form, reset_calibration, by=by, car=car):
        return redirect("calibration", pk=pk)
    return form_page(
        request,
        form,
        title=f"Forget what the scales showed of car {car.number} and start again",
        button="Forget it and start again",
        back=reverse("calibration", args=[pk]),
        back_to="What one turn does",
        lead="Plans and weighings so far stay as they are. Predictions no longer use them.",
    )
