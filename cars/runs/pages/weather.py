"""The weather at a track: noted, and corrected."""

from typing import Any
from uuid import UUID

from django import forms
from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.utils import timezone

from cars.lookups import car_or_404
from cars.models import Weather
from cars.permissions import check_can_open_sheet
from cars.runs.actions.weather import NO_ALTITUDE, NO_UNIT, correct_weather, note_weather
from cars.runs.queries.runs import newest_details
from clubsetup.clock.writing import minute
from clubsetup.quantities import bounds
from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.reading import Typed
from clubsetup.quantities.spelling import has_unit
from clubsetup.quantities.units import Units
from clubsetup.quantities.writing import show
from clubsetup.site.forms import QuantityForm, QuantityInput
from clubsetup.site.pages import form_action, form_page, person

HPA = 10  # a kilopascal


class WeatherForm(QuantityForm):
    """The air at the track, as a device or a forecast says it."""

    outcome: Any
    temperature = QuantityInput(kind=Kind.TEMPERATURE, limits=bounds.AIR, label="Temperature")
    humidity = QuantityInput(kind=Kind.PERCENT, limits=bounds.HUMIDITY, label="Humidity, %")
    pressure = QuantityInput(
        kind=Kind.PRESSURE,
        limits=bounds.AIR_PRESSURE,
        label="Pressure",
        help_text="With its unit: 1013 hPa or 29.92 inHg.",
    )
    pressure_of = forms.ChoiceField(
        label="It is the pressure",
        choices=Weather.PressureOf.choices,
        initial=Weather.PressureOf.SEA_LEVEL,
    )
    altitude = QuantityInput(
        kind=Kind.LENGTH,
        limits=bounds.ALTITUDE,
        required=False,
        label="Altitude of the track",
        help_text="With its unit: 300 ft or 90 m. A forecast's pressure needs it.",
    )

    def clean_altitude(self) -> Typed | None:
        """With a unit: a bare number would be one of a car's."""
        altitude: Typed | None = self.cleaned_data["altitude"]
        if altitude is not None and altitude.value and not has_unit(altitude.text):
            raise forms.ValidationError(NO_UNIT)
        return altitude

    def clean(self) -> dict[str, Any]:
        """A forecast's pressure with the altitude; said beside what else is wrong."""
        given = self.cleaned_data
        is_forecast = given.get("pressure_of") == Weather.PressureOf.SEA_LEVEL
        if is_forecast and "altitude" in given and given["altitude"] is None:
            self.add_error("altitude", NO_ALTITUDE)
        return given

    @property
    def figures(self) -> dict[str, Any]:
        """Of a valid form, as the action takes them: degree C, percent, hPa, mm."""
        given = self.cleaned_data
        return {
            "temperature": given["temperature"].value,
            "humidity": given["humidity"].value,
            "pressure": given["pressure"].value * HPA,
            "pressure_of": given["pressure_of"],
            "altitude": given["altitude"].value if given["altitude"] else None,
        }


def initial_of_weather(noted: Weather, units: Units) -> dict[str, Any]:
    """A noted weather in its form, in the reader's units; the pressure as it is told of air."""
    temperature = show(noted.temperature, Kind.TEMPERATURE, unit=units.for_kind(Kind.TEMPERATURE))
    altitude = noted.altitude
    length = "ft" if units.for_kind(Kind.LENGTH) in {"in", "ft"} else "m"
    return {
        "temperature": temperature.pretty,
        "humidity": f"{noted.humidity.normalize():f}",
        "pressure": f"{noted.pressure.normalize():f} hPa",
        "pressure_of": noted.pressure_of,
        "altitude": show(altitude, Kind.LENGTH, unit=length).pretty if altitude is not None else "",
    }


@login_required
def weather(request: HttpRequest, pk: UUID) -> HttpResponse:
    """The air at the track; the runs noted after it rest on it."""
    car, by = car_or_404(request, pk), person(request)
    check_can_open_sheet(by, car)
    form = WeatherForm(request.POST or None, units=by.units(car.team.club.units()))
    if form.is_valid():
        before = newest_details([], car)
        track = before.track if before else None
        if form_action(form, note_weather, by=by, team=car.team, track=track, **form.figures):
            messages.success(request, "The weather is noted: the next runs rest on it.")
            return redirect("car-track", pk=pk)
    back = reverse("car-track", args=[pk])
    return form_page(
        request, form, title="The weather now", button="Save", back=back, back_to="At the track"
    )


@login_required
def correct(request: HttpRequest, pk: UUID, weather: UUID) -> HttpResponse:
    """The same air noted rightly; the runs that rest on it rest on that."""
    car, by = car_or_404(request, pk), person(request)
    check_can_open_sheet(by, car)
    noted = get_object_or_404(
        Weather.objects.select_related("team", "by"), pk=weather, team=car.team_id
    )
    units = by.units(car.team.club.units())
    form = WeatherForm(request.POST or None, units=units, initial=initial_of_weather(noted, units))
    if form.is_valid() and form_action(form, correct_weather, by=by, weather=noted, **form.figures):
        messages.success(request, "The weather is corrected, for the runs too that rest on it.")
        return redirect("car-track", pk=pk)
    at = minute(timezone.localtime(noted.noted_at))
    lead = f"Noted {at} by {noted.by}. What stood is kept."
    back = reverse("car-track", args=[pk])
    title = "Correct the weather"
    return form_page(
        request, form, title=title, button="Save", lead=lead, back=back, back_to="At the track"
    )
