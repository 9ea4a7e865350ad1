"""What is read again at the track, and the weather there."""

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse

from cars.catalogue.keys import Key
from cars.catalogue.queries import catalogue
from cars.figures.box_entries import read_entry
from cars.lookups import car_or_404
from cars.mechanics import CORNER_NAMES
from cars.permissions import check_can_open_sheet
from cars.runs.actions.at_track import set_sheet_of
from cars.runs.actions.track_readings import take_track_readings
from cars.runs.actions.weather import note_weather
from cars.runs.pages.forms import WeatherForm
from cars.runs.queries.runs import newest_details
from clubsetup.access.errors import Invalid, WrongState
from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.reading import QuantityError, Typed
from clubsetup.quantities.table import unit_of
from clubsetup.quantities.units import Units
from clubsetup.site.pages import form_action, form_page, person

READ_AGAIN = ("weight", "ride-height", "pressure", "circumference")
HPA = 10  # a kilopascal


@dataclass(frozen=True, slots=True)
class ReadBox:
    """One box: what was typed into it and why it is none."""

    name: str
    label: str
    text: str = ""
    wrong: str = ""


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
        typed = _typed(request.POST, units, wrong)
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


def _typed(sent: Mapping[str, Any], units: Units, wrong: dict[str, str]) -> dict[Key, Typed]:
    """What was typed, by box; why a box is none goes into `wrong`."""
    known = catalogue().measures
    typed: dict[Key, Typed] = {}
    for measure in READ_AGAIN:
        for corner in CORNER_NAMES:
            key = Key(measure, corner)
            text = sent.get(str(key), "").strip()
            if not text:
                continue
            try:
                entry = read_entry(known[measure], key, text, units)
            except QuantityError as refusal:
                wrong[str(key)] = refusal.message
            else:
                if entry.quantity is not None:
                    typed[key] = entry.quantity
    return typed


def _boxes(
    sent: Mapping[str, Any], units: Units, wrong: Mapping[str, str]
) -> list[tuple[str, list[ReadBox]]]:
    """Each measure by name and unit, with its four boxes."""
    known = catalogue().measures
    shown = []
    for name in READ_AGAIN:
        measure = known[name]
        kind = Kind(measure.kind)
        unit = unit_of(kind, units.for_kind(kind)).suffix.strip()
        boxes = [
            ReadBox(f"{name}.{c}", c, sent.get(f"{name}.{c}", ""), wrong.get(f"{name}.{c}", ""))
            for c in CORNER_NAMES
        ]
        shown.append((f"{measure.name}, {unit}", boxes))
    return shown


@login_required
def weather(request: HttpRequest, pk: UUID) -> HttpResponse:
    """The air at the track; the runs noted after it rest on it."""
    car, by = car_or_404(request, pk), person(request)
    check_can_open_sheet(by, car)
    form = WeatherForm(request.POST or None, units=by.units(car.team.club.units()))
    if form.is_valid():
        given = form.cleaned_data
        before = newest_details([], car)
        if form_action(
            form,
            note_weather,
            by=by,
            team=car.team,
            track=before.track if before else None,
            temperature=given["temperature"].value,
            humidity=given["humidity"].value,
            pressure=given["pressure"].value * Decimal(HPA),
            pressure_of=given["pressure_of"],
            altitude=given["altitude"].value if given["altitude"] else None,
        ):
            messages.success(request, "The weather is noted: the next runs rest on it.")
            return redirect("car-track", pk=pk)
    back = reverse("car-track", args=[pk])
    return form_page(
        request, form, title="The weather now", button="Save", back=back, back_to="At the track"
    )
