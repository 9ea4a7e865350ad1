"""Springs and tyres: the car's own, one from its wire, and another one at a corner."""

from typing import Any
from uuid import UUID

from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.html import escape

from cars.catalogue.queries import catalogue
from cars.lookups import car_or_404
from cars.plans.pages.spring_forms import CoilForm, OnTyreForm
from cars.plans.pages.tools import car_page, sent
from cars.plans.presenters.spring_rates import (
    format_rate,
    format_ratio,
    rate_lines,
    rate_unit,
    spring_rows,
    spring_stands,
    tyre_stands,
)
from cars.plans.queries.spring_rates import CornerSpring, car_springs, rate_of_coil, rates_at
from clubsetup.quantities.units import Units
from clubsetup.site.pages import person, submit_action


@login_required
def springs(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Wheel rate and ride rate of each spring, and what another would be."""
    car, by = car_or_404(request, pk), person(request)
    units = by.units(car.team.club.units())
    read = car_springs(car, catalogue())
    at = read.at(request.GET.get("corner", "")) or read.at("LF")
    coil = CoilForm(sent(request, CoilForm), units=units)
    another = OnTyreForm(
        sent(request, OnTyreForm, but="corner"), initial=_from_the_car(at, units), units=units
    )
    if at:
        _say_where_from(another, at, units)
    context: dict[str, Any] = {
        **car_page(car, "springs"),
        "missing": read.missing,
        "rows": spring_rows(read, units),
        "unit": rate_unit(units),
        "coil_form": coil,
        "form": another,
        "at": at,
        **_wound(coil, another, units),
        **_tried(another, at, units),
    }
    return render(request, "cars/plans/springs.html", context)


def _wound(coil: CoilForm, another: OnTyreForm, units: Units) -> dict[str, Any]:
    """The rate of a spring from its wire, put into the box of the other form too."""
    if not submit_action(coil, rate_of_coil):
        return {}
    another.initial["rate"] = format_rate(coil.outcome, units)
    return {"coil": another.initial["rate"]}


def _tried(another: OnTyreForm, at: CornerSpring | None, units: Units) -> dict[str, Any]:
    """What another spring would be at a corner."""
    if not another.is_valid():
        return {}
    given = another.cleaned_data
    tyre = float(given["tyre_rate"].value)
    rates = rates_at(given["rate"], given["motion_ratio"], tyre, at)
    return {"lines": rate_lines(rates, at, units)}


def _from_the_car(at: CornerSpring | None, units: Units) -> dict[str, str]:
    """What stands at a corner, as the boxes take it."""
    if at is None:
        return {}
    return {
        "corner": at.corner,
        "rate": format_rate(at.spring_rate, units),
        "motion_ratio": format_ratio(at.motion_ratio),
        "tyre_rate": format_rate(at.tyre_rate, units),
    }


def _say_where_from(form: OnTyreForm, at: CornerSpring, units: Units) -> None:
    form.fields["rate"].help_text = escape(spring_stands(at, units))
    form.fields["tyre_rate"].help_text = escape(tyre_stands(at, units))
