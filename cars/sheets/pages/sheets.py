"""A sheet's page, and what is done to the sheet as a whole."""

from typing import Any
from uuid import UUID

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from cars.lookups import car_or_404, sheet_or_404
from cars.models import Sheet
from cars.permissions import check_can_comment_on, check_can_open_sheet, check_can_write_sheet
from cars.sheets.actions.comments import add_comment
from cars.sheets.actions.set_sheet import note_change
from cars.sheets.actions.sheets import close_sheet, correct_sheet, edit_sheet, open_sheet
from cars.sheets.pages.forms import ChangeForm, CommentForm, CorrectForm, HeadForm, OpenForm
from cars.sheets.pages.messages import message_of_change
from cars.sheets.pages.sidebar import sheet_sidebar
from cars.sheets.presenters.comments import comments_of
from cars.sheets.presenters.drawing import drawing_of
from cars.sheets.presenters.exceptions import exceptions_of
from cars.sheets.presenters.figure_table import figure_table
from cars.sheets.presenters.sheet_trail import sheet_trail
from cars.sheets.presenters.sheet_view import SheetView, sheet_view
from cars.sheets.presenters.target_sources import source_name
from cars.sheets.queries.targets import TargetSource
from clubsetup.access.errors import is_allowed
from clubsetup.site.pages import form_page, person, run_action, submit_action

SINCE = "What was turned, moved or swapped since the readings on this sheet."
ON_THE_LEFT = (
    "This sheet keeps the car as found. The change is noted on the sheet as set, which is opened "
    "with these figures if it is not there yet."
)


@login_required
def sheet(request: HttpRequest, pk: UUID) -> HttpResponse:
    """The whole sheet to read: what is off first, then every figure."""
    sheet, by = sheet_or_404(request, pk), person(request)
    view = sheet_view(sheet, by)
    may_write = is_allowed(check_can_write_sheet, by, sheet)
    is_open = sheet.state == Sheet.State.OPEN
    steps = {step.step.pk: reverse("bench-step", args=[pk, step.step.pk]) for step in view.steps}
    context = {
        "sheet": sheet,
        "view": view,
        "drawing": drawing_of(view),
        "editable": may_write and is_open,
        "may_follow": is_allowed(check_can_open_sheet, by, sheet.car),
        "may_correct": may_write and not is_open and not hasattr(sheet, "corrected_by"),
        "may_comment": is_allowed(check_can_comment_on, by, sheet),
        **readable_sheet(view, steps, is_worked_on=may_write and is_open),
        "remarks": comments_of(sheet, view.units),
        "comment_form": CommentForm(),
        **sheet_sidebar(sheet, view, by),
    }
    return render(request, "cars/sheets/sheet.html", context)


def readable_sheet(view: SheetView, steps: dict[str, str], *, is_worked_on: bool) -> dict[str, Any]:
    """The figures as lines, and the exceptions before them; these lead to where one mends them."""
    return {
        "groups": figure_table(view, steps),
        "exceptions": exceptions_of(view, steps if is_worked_on else None),
        "before_word": view.before_word if view.sheet.based_on else "",
        "target_name": source_name(view.target_source or TargetSource()),
    }


@login_required
def sheet_open(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Opens a sheet of a car: from nothing, from a baseline, or from an earlier sheet.

    'Search' sends the form too, and gets it back as it is, with the earlier sheets it names.
    """
    car, by = car_or_404(request, pk), person(request)
    check_can_open_sheet(by, car)
    searched = "search" in request.POST
    form = OpenForm(
        None if searched else request.POST or None,
        car=car,
        units=by.units(car.team.club.units()),
        after=request.GET.get("based_on", request.GET.get("after", "")),
        find=(request.POST or request.GET).get("find", "").strip(),
        typed=request.POST.dict() if searched else None,
    )
    if submit_action(form, open_sheet, by=by, car=car, alone=True):
        return redirect("sheet", pk=form.outcome.pk)
    return form_page(
        request,
        form,
        title=f"New sheet for car {car.number}",
        button="Open the sheet",
        back=reverse("car", args=[car.pk]),
        back_to=str(car),
        template="cars/sheets/open_sheet.html",
    )


@login_required
def sheet_edit(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Changes the head of an open sheet: day, driver, track, fuel, note."""
    sheet, by = sheet_or_404(request, pk), person(request)
    check_can_write_sheet(by, sheet)
    form = HeadForm(request.POST or None, sheet=sheet, units=by.units(sheet.team.club.units()))
    if submit_action(form, edit_sheet, by=by, sheet=sheet):
        return redirect("sheet", pk=pk)
    back = reverse("sheet", args=[pk])
    return form_page(
        request, form, title="Date, driver, fuel", button="Save", back=back, back_to=str(sheet)
    )


@login_required
@require_POST
def sheet_close(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Closes the sheet; what is to be taken again on it is asked about at the end of the bench."""
    given = {"by": person(request), "sheet": sheet_or_404(request, pk), "again": []}
    done = run_action(request, close_sheet, done="The sheet is closed and stands.", **given)
    return redirect("sheet" if done else "bench-done", pk=pk)


@login_required
def sheet_correct(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Asks for the reason and makes the next version."""
    sheet, by = sheet_or_404(request, pk), person(request)
    check_can_write_sheet(by, sheet)
    form = CorrectForm(request.POST or None)
    if submit_action(form, correct_sheet, by=by, sheet=sheet):
        return redirect("sheet", pk=form.outcome.pk)
    return form_page(
        request,
        form,
        title="Correct this sheet",
        button="Make the next version",
        back=reverse("sheet", args=[pk]),
        back_to=str(sheet),
        lead="The closed sheet stays as it is. A new version with all its readings is opened.",
    )


@login_required
@require_POST
def sheet_comment(request: HttpRequest, pk: UUID) -> HttpResponse:
    sheet = sheet_or_404(request, pk)
    text = request.POST.get("text", "")
    run_action(
        request, add_comment, done="Comment kept.", by=person(request), sheet=sheet, text=text
    )
    return redirect(reverse("sheet", args=[pk]) + "#comments")


@login_required
def sheet_change(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Notes something turned, moved or swapped."""
    sheet, by = sheet_or_404(request, pk), person(request)
    check_can_write_sheet(by, sheet)
    form = ChangeForm(request.POST or None)
    if submit_action(form, note_change, by=by, sheet=sheet):
        if message := message_of_change(form.outcome, sheet):
            messages.success(request, message)
        return redirect(reverse("sheet", args=[form.outcome.sheet_id]) + "#changes")
    return form_page(
        request,
        form,
        title="Note something you turned or swapped",
        button="Note it",
        back=reverse("sheet", args=[pk]),
        back_to=str(sheet),
        lead=ON_THE_LEFT if sheet.role == Sheet.Role.FOUND else SINCE,
    )


@login_required
def sheet_history(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Every reading ever taken on the sheet, the replaced ones too, and what else was done."""
    sheet = sheet_or_404(request, pk)
    context = {"sheet": sheet, "lines": sheet_trail(sheet)}
    return render(request, "cars/sheets/sheet_history.html", context)
