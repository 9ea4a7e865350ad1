"""What to turn at the rods, which block marks to try, and lead and stagger against the corner."""

from typing import Any
from uuid import UUID

from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_POST

from cars.lookups import sheet_or_404
from cars.mechanics import MechanicsError
from cars.plans.actions.axles import accept_marks, accept_rods
from cars.plans.pages.axle_forms import CornerForm, RodForm, radius_text, sent_rods
from cars.plans.pages.tools import is_editable, on_the_page, page_of, remember, remembered
from cars.plans.presenters.axles import corner_lines, rod_cards, side_cards
from cars.plans.queries import block_marks, rods
from cars.plans.queries import lead as corner
from cars.plans.queries.sheet_figures import SheetFigures, sheet_figures
from clubsetup.site.pages import person, run_action


@login_required
def rod_turns(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Turns of the radius rods that bring the rear axle square and its carriers right."""
    sheet, by = sheet_or_404(request, pk), person(request)
    on_sheet = sheet_figures(sheet, by)
    form = RodForm(request.GET or None, initial=remembered(request, "rods"), units=on_sheet.units)
    missing = rods.lacking(on_sheet)
    context: dict[str, Any] = {
        **on_the_page(sheet, "sheet-rods"),
        "form": form,
        "missing": missing,
        "editable": is_editable(request, sheet),
        "seen": rods.seen(on_sheet),
    }
    if not missing and form.is_bound and form.is_valid():
        remember(request, "rods", RodForm.base_fields)
        context |= _rod_answer(on_sheet, form)
    return render(request, "cars/plans/rods.html", context)


def _rod_answer(on_sheet: SheetFigures, form: RodForm) -> dict[str, Any]:
    try:
        upper, lower, step = form.rods
        cards = rod_cards(on_sheet, rods.end_plans(on_sheet, upper, lower, step=step))
        return {"cards": cards, "turned": [one for card in cards for one in card.turned]}
    except MechanicsError as refused:
        return {"trouble": str(refused)}


@login_required
@require_POST
def rods_turned(request: HttpRequest, pk: UUID) -> HttpResponse:
    sheet, by, sent = sheet_or_404(request, pk), person(request), request.POST
    done = "The turns are noted. Lock the nuts, and take bar, rotation and what follows again."
    run_action(
        request,
        accept_rods,
        done=done,
        by=by,
        sheet=sheet,
        turns=sent_rods(sent.getlist("turn")),
        seen=sent.get("seen", ""),
    )
    return page_of("sheet-rods", sheet)


@login_required
@require_POST
def marks_set(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Notes a side's blocks as set."""
    sheet, by, sent = sheet_or_404(request, pk), person(request), request.POST
    run_action(
        request,
        accept_marks,
        done="The marks are noted. Read camber and caster again.",
        by=by,
        sheet=sheet,
        side=sent.get("side", ""),
        marks=sent.getlist("mark"),
        seen=sent.get("seen", ""),
    )
    return page_of("sheet-marks", sheet)


@login_required
def marks(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Block marks to try next, from what this car's own marks gave."""
    sheet, by = sheet_or_404(request, pk), person(request)
    sides = side_cards(block_marks.side_marks(sheet_figures(sheet, by)))
    context = {
        **on_the_page(sheet, "sheet-marks"),
        "sides": sides,
        "editable": is_editable(request, sheet),
    }
    return render(request, "cars/plans/marks.html", context)


@login_required
def lead(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Lead and stagger against the track's corner, and the hands' angle."""
    sheet, by = sheet_or_404(request, pk), person(request)
    on_sheet = sheet_figures(sheet, by)
    known = radius_text(sheet.track, on_sheet.units)
    form = CornerForm(request.GET or ({"radius": known} if known else None), units=on_sheet.units)
    context: dict[str, Any] = {
        **on_the_page(sheet, "sheet-lead"),
        "form": form,
        "missing": corner.lacking(on_sheet),
    }
    chassis, _ = on_sheet.chassis
    if chassis is not None and form.is_valid():
        radius, ratio = form.answer
        try:
            context["lines"] = corner_lines(
                on_sheet, corner.lead_figures(on_sheet, chassis, radius, ratio)
            )
        except MechanicsError as refused:
            context["trouble"] = str(refused)
    return render(request, "cars/plans/lead.html", context)
