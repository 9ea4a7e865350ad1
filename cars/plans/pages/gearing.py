"""Gearing: ratio, speed and chain, from what the car's sheets say and what is typed."""

from typing import Any
from uuid import UUID

from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.html import escape

from cars.catalogue.queries import catalogue
from cars.lookups import car_or_404
from cars.plans.pages.gearing_forms import GearingForm
from cars.plans.pages.tools import car_page, remember, remembered, sent
from cars.plans.presenters.gearing import (
    figures_or_refusal,
    gearing_answer,
    length_in_a_box,
    roll_out_source,
    teeth_source,
)
from cars.plans.queries.gearing import CarGearing, car_gearing
from clubsetup.quantities.units import Units
from clubsetup.site.pages import form_action, person


@login_required
def gearing(request: HttpRequest, pk: UUID) -> HttpResponse:
    """What a pair of sprockets gives, and the ones next to it."""
    car, by = car_or_404(request, pk), person(request)
    units = by.units(car.team.club.units())
    read = car_gearing(car, catalogue())
    known, name = _from_the_car(read, units), f"gearing-{car.pk}"
    boxes = {**remembered(request, name), **known}
    is_enough = boxes.get("driving") and boxes.get("driven")
    typed = sent(request, GearingForm)
    form = GearingForm(typed or (boxes if is_enough else None), initial=boxes, units=units)
    _say_where_from(form, read, units)
    context: dict[str, Any] = {**car_page(car, "gearing"), "form": form}
    if form.is_valid() and form_action(form, figures_or_refusal, asked=form.asked):
        if typed:
            remember(request, name, GearingForm.base_fields)
        context["answer"] = gearing_answer(form.asked, form.outcome, units)
    return render(request, "cars/plans/gearing.html", context)


def _from_the_car(read: CarGearing, units: Units) -> dict[str, str]:
    """What the car's sheets say, as the boxes take it."""
    counted = {"driving": read.driving, "driven": read.driven}
    boxes = {name: str(teeth) for name, teeth in counted.items() if teeth is not None}
    if read.roll_out is not None:
        boxes["roll_out"] = length_in_a_box(read.roll_out, units)
    return boxes


def _say_where_from(form: GearingForm, read: CarGearing, units: Units) -> None:
    form.fields["roll_out"].help_text = escape(roll_out_source(read, units))
    form.fields["driven"].help_text = escape(teeth_source(read))
