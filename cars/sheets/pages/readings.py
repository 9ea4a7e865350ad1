"""Typing a whole sheet: its page of boxes, which are saved one at a time or all together."""

from uuid import UUID

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods

from cars.baselines.presenters.own_targets import sheet_own_target_lines
from cars.lookups import sheet_or_404
from cars.models import Measure, Sheet
from cars.permissions import check_can_write_sheet
from cars.sheets.actions.save_boxes import save_boxes
from cars.sheets.pages.boxes import SEEN, changed_boxes, keep_typed, seen_on, sent_box
from cars.sheets.presenters.drawing import drawing_of
from cars.sheets.presenters.own_targets import own_into_boxes
from cars.sheets.presenters.sheet_view import SheetView, sheet_view
from clubsetup.site.pages import person


@login_required
@require_http_methods(["GET", "HEAD", "POST"])
def sheet_readings(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Shows every box; saves what was typed and answers with its judgement, or the whole page."""
    sheet, by = sheet_or_404(request, pk), person(request)
    if request.method != "POST":
        check_can_write_sheet(by, sheet)
        if sheet.state != Sheet.State.OPEN:
            return redirect("sheet", pk=pk)
        return _boxes_page(request, sheet, sheet_view(sheet, by))
    if request.htmx:  # type: ignore[attr-defined]  # set by django_htmx's middleware
        return _one_box(request, sheet)
    return _whole_form(request, sheet)


def _one_box(request: HttpRequest, sheet: Sheet) -> HttpResponse:
    by = person(request)
    check_can_write_sheet(by, sheet)
    results = save_boxes(by, sheet, sent_box(request), Measure.objects.in_bulk())
    view = sheet_view(sheet, by)
    seen = seen_on(view)
    keep_typed(view, results, by)
    context = {
        "sheet": sheet,
        "view": view,
        "drawing": drawing_of(view),
        "boxes": [view.boxes[one.sent.key] for one in results if one.sent.key in view.boxes],
        "derived": [row for step in view.steps for row in step.rows if row.is_derived],
        # Tallies change in other steps too: a figure computed there, a reading to take again.
        "touched": view.steps,
        "seen_name": SEEN,
        "seen": seen,
    }
    return render(request, "cars/sheets/_saved.html", context)


def _whole_form(request: HttpRequest, sheet: Sheet) -> HttpResponse:
    by = person(request)
    check_can_write_sheet(by, sheet)
    sent = changed_boxes(request.POST)
    results = save_boxes(by, sheet, sent, Measure.objects.in_bulk())
    saved = sum(one.status == "saved" for one in results)
    if saved < len(results):
        view = sheet_view(sheet, by)
        keep_typed(view, results, by)
        is_conflict = any(one.conflict for one in results)
        return _boxes_page(request, sheet, view, status=409 if is_conflict else 400)
    messages.success(request, f"Saved: {saved} new reading{'' if saved == 1 else 's'}.")
    return redirect("sheet", pk=sheet.pk)


def _boxes_page(
    request: HttpRequest, sheet: Sheet, view: SheetView, status: int = 200
) -> HttpResponse:
    """Every box of the sheet as `view` has it."""
    seen = seen_on(view)
    own_into_boxes(sheet_own_target_lines(sheet, view.units), view)
    context = {
        "sheet": sheet,
        "view": view,
        "drawing": drawing_of(view),
        "seen_name": SEEN,
        "seen": seen,
    }
    return render(request, "cars/sheets/sheet_readings.html", context, status=status)
