"""A family's look of_car: would we be light, what to add, and which pieces where."""

from urllib.parse import urlencode
from uuid import UUID

from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse

from clubsetup.site.pages import person
from events.precheck.pages.forms import PrecheckForm
from events.precheck.presenters.precheck import CARS, PrecheckOfCar, precheck_of_car
from teams.lookups import read_or_404


@login_required
def pre_check(request: HttpRequest, pk: UUID) -> HttpResponse:
    """For the team and its coaches: the car is not there for anybody else."""
    user = person(request)
    car = read_or_404(user, CARS, pk)
    form = PrecheckForm(request.GET.dict(), units=user.units(car.team.club.units()))
    of_car = None
    if form.is_valid():
        of_car = precheck_of_car(car, user, form.asked)
    context = {"car": car, "form": form, "of_car": of_car, "bench": _on_the_bench(of_car)}
    return render(request, "events/precheck/precheck.html", context)


def _on_the_bench(of_car: PrecheckOfCar | None) -> str:
    """Where the bench shows the same plans, to note them as fitted; empty without a sheet."""
    precheck = of_car.precheck if of_car else None
    if (
        precheck is None
        or precheck.scales.typed
        or precheck.ballast is None
        or not precheck.ballast.todo
    ):
        return ""
    address = reverse("sheet-ballast", args=[precheck.scales.on_sheet.sheet.pk])
    return f"{address}?{urlencode(precheck.ballast.sent)}"
