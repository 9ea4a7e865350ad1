"""Choosing which of the team's parts is on which corner."""

from uuid import UUID

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.db import transaction
from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import redirect, render
from django.urls import reverse

from cars.lookups import sheet_or_404
from cars.models import Part, Sheet
from cars.permissions import check_can_fit_part, check_can_see_parts
from cars.sheets.actions.parts_fitted import fit_part
from cars.sheets.presenters.parts_fitted import FittedPlace, SortView, fitted_view
from cars.sheets.queries.parts_fitted import STEPS
from clubsetup.access.errors import Invalid, WrongState, is_allowed
from clubsetup.access.models import User
from clubsetup.quantities.errors import QuantityError
from clubsetup.site.pages import person

CAUTION = (
    "A compressed spring and a gas-charged damper store enough force to injure. "
    "Their makers' instructions come first."
)


@login_required
def sheet_parts(request: HttpRequest, pk: UUID) -> HttpResponse:
    """The parts on the car by this sheet."""
    sheet, by = sheet_or_404(request, pk), person(request)
    check_can_see_parts(by, sheet.team)
    if request.method == "POST":
        check_can_fit_part(by, sheet)
        return _fit(request, sheet, by)
    may_fit = sheet.state == Sheet.State.OPEN and is_allowed(check_can_fit_part, by, sheet)
    context = {
        "sheet": sheet,
        "fitted": fitted_view(sheet, by),
        "may_fit": may_fit,
        "caution": CAUTION,
    }
    return render(request, "cars/sheets/sheet_parts.html", context)


def _fit(request: HttpRequest, sheet: Sheet, by: User) -> HttpResponse:
    """Fits what was chosen anew; a corner left as it stood says nothing."""
    step = request.POST.get("step", "")
    chosen = _chosen(request.POST, fitted_view(sheet, by, step if step in STEPS else ""))
    try:
        with transaction.atomic():
            for place, part, seen in chosen:
                fit_part(by=by, sheet=sheet, sort=place.sort, spot=place.spot, part=part, seen=seen)
    except (Invalid, WrongState, QuantityError) as refusal:
        messages.error(request, str(refusal))
    else:
        messages.success(request, "Kept: which parts are on the car.")
    if step in STEPS:
        return redirect(reverse("bench-step", args=[sheet.pk, step]) + "#parts")
    return redirect("sheet-parts", pk=sheet.pk)


def _chosen(
    post: QueryDict, views: list[SortView]
) -> list[tuple[FittedPlace, Part | None, UUID | None]]:
    """The corners whose choice is another than the one the page was made with, which it names."""
    chosen: list[tuple[FittedPlace, Part | None, UUID | None]] = []
    for place in (place for view in views for place in view.places):
        sent, was = post.get(place.field), post.get(f"was-{place.field}", "")
        if sent is None or sent == was:
            continue
        part = next((each for each in place.choices if str(each.pk) == sent), None)
        if sent and part is None:
            raise Invalid(place.field, "This part is not the team's. Reload the page.")
        try:
            chosen.append((place, part, UUID(was) if was else None))
        except ValueError as error:
            raise Invalid(place.field, "Reload the page: it is not as we made it.") from error
    return chosen
