"""Taking readings from the sheet's page: a box at a time, or the whole form."""

from uuid import UUID

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_POST

from cars.figures.box_entries import read_boxes
from cars.models import Measure, Sheet
from cars.sheets.actions.readings import take_readings
from cars.sheets.lookups import sheet_or_404
from cars.sheets.pages.boxes import changed_boxes, keep_typed, sent_box
from cars.sheets.pages.sheets import sheet_page
from cars.sheets.presenters.drawing import drawing_of
from cars.sheets.queries.sheet_view import sheet_view
from clubsetup.site.pages import person


@login_required
@require_POST
def sheet_readings(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Saves what was typed and answers with its judgement; without htmx, the whole page."""
    sheet = sheet_or_404(request, pk)
    if request.htmx:  # type: ignore[attr-defined]  # set by django_htmx's middleware
        return _one_box(request, sheet)
    return _whole_form(request, sheet)


def _one_box(request: HttpRequest, sheet: Sheet) -> HttpResponse:
    by = person(request)
    typed = sent_box(request)
    read = read_boxes(typed, _measures(), by.units(sheet.team.club.units()))
    take_readings(by=by, sheet=sheet, entries=read.entries)
    view = sheet_view(sheet, by)
    keep_typed(view, typed, read.wrong)
    context = {
        "sheet": sheet,
        "view": view,
        "drawing": drawing_of(view),
        "boxes": [view.boxes[key] for key in typed if key in view.boxes],
        "derived": [row for step in view.steps for row in step.rows if row.is_derived],
        # Tallies change in other steps too: a figure computed there, a reading to take again.
        "touched": view.steps,
    }
    return render(request, "cars/sheets/_saved.html", context)


def _whole_form(request: HttpRequest, sheet: Sheet) -> HttpResponse:
    by = person(request)
    typed = changed_boxes(request.POST)
    read = read_boxes(typed, _measures(), by.units(sheet.team.club.units()))
    made = take_readings(by=by, sheet=sheet, entries=read.entries)
    if read.wrong:
        view = sheet_view(sheet, by)
        keep_typed(view, typed, read.wrong)
        return sheet_page(request, sheet, view, status=400)
    messages.success(request, f"Saved: {len(made)} new reading{'' if len(made) == 1 else 's'}.")
    return redirect("sheet", pk=sheet.pk)


def _measures() -> dict[str, Measure]:
    return Measure.objects.in_bulk()
