"""What is read again at the track."""

from collections.abc import Mapping
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from cars.catalogue.queries import catalogue
from cars.lookups import car_or_404
from cars.mechanics import CORNER_NAMES
from cars.permissions import check_can_open_sheet
from cars.runs.actions.at_track import set_sheet_of
from cars.runs.actions.track_readings import take_track_readings
from cars.runs.pages.read_boxes import ReadBox, typed_in, unit_words
from clubsetup.access.errors import Invalid, WrongState
from clubsetup.quantities.units import Units
from clubsetup.site.pages import person

READ_AGAIN = ("weight", "ride-height", "pressure", "circumference")


@login_required
def readings(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Weighed or measured again between two runs; the sheet as set stays as it is."""
    car, by = car_or_404(request, pk), person(request)
    check_can_open_sheet(by, car)
    sheet = set_sheet_of(car)
    units = by.units(car.team.club.units())
    wrong: dict[str, str] = {}
    refused = ""
    if request.method == "POST":
        typed = typed_in(request.POST, READ_AGAIN, units, wrong)
        if not wrong:
            try:
                taken = take_track_readings(by=by, sheet=sheet, readings=typed)
            except (Invalid, WrongState) as refusal:
                refused = str(refusal)
            else:
                messages.success(request, f"Saved: {len(taken)} readings.")
                return redirect("car-track", pk=pk)
    context = {
        "car": car,
        "sheet": sheet,
        "measures": _boxes(request.POST, units, wrong),
        "refused": refused,
    }
    status = 400 if wrong or refused else 200
    return render(request, "cars/runs/readings.html", context, status=status)


def _boxes(
    sent: Mapping[str, Any], units: Units, wrong: Mapping[str, str]
) -> list[tuple[str, list[ReadBox]]]:
    """Each measure by name and unit, with its four boxes."""
    known = catalogue().measures
    shown = []
    for name in READ_AGAIN:
        boxes = [
            ReadBox(f"{name}.{c}", c, sent.get(f"{name}.{c}", ""), wrong.get(f"{name}.{c}", ""))
            for c in CORNER_NAMES
        ]
        shown.append((f"{known[name].name}, {unit_words(name, units)}", boxes))
    return shown
