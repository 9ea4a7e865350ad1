"""A car to its next owner: offered, read by both chiefs, taken, taken back."""

from typing import Any
from uuid import UUID

from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST

from cars.catalogue.queries import catalogue
from cars.handover.actions.handovers import (
    GONE,
    offer_car,
    take_car,
    take_car_back,
    withdraw_offer,
)
from cars.handover.pages.forms import CodeForm, HistoryForm, TakeForm, TickForm, season_of
from cars.handover.presenters.handover_view import package_of
from cars.handover.presenters.package import package_lines, sheet_lines, together_words
from cars.handover.presenters.run_lines import handed_run_lines
from cars.handover.queries.goods import goods_of, seasons_of
from cars.handover.queries.offers import handovers_of, offer_of
from cars.handover.queries.package import make_package
from cars.handover.queries.ticks import ticks_of
from cars.lookups import car_or_404
from cars.models import Chassis, HandedRun, HandedSheet, Handover
from clubsetup.access.errors import is_allowed
from clubsetup.access.limits import count_against_limit
from clubsetup.site.list_pages import before_of, page_of
from clubsetup.site.pages import form_action, form_page, person, run_action, submit_action
from teams.lookups import read_or_404
from teams.models import Team
from teams.permissions import check_can_lead
from teams.queries.roles import roles_of

A_PAGE = 40


@login_required
@never_cache
def car_handover(request: HttpRequest, pk: UUID) -> HttpResponse:
    """The giver chooses and reads what goes along; sent, the car is offered and the code shown."""
    car, by = car_or_404(request, pk), person(request)
    check_can_lead(by, car.team)
    units = by.units(car.team.club.units())
    chosen = request.POST if request.method == "POST" else request.GET
    form = HistoryForm(chosen if "history" in chosen else None)
    context = {
        "car": car,
        "form": form,
        "open": Handover.objects.filter(car=car, team=car.team_id).open().first(),
    }
    if not form.is_valid():
        status = 400 if form.errors else 200
        return render(request, "cars/handover/offer.html", context, status=status)
    history = form.cleaned_data["history"]
    season = season_of(chosen)
    goods = goods_of(car, history, chosen.getlist("ticked"), season)
    ticks = ticks_of(goods, catalogue())
    seasons = [] if history == Handover.History.NONE else seasons_of(car)
    ticking = TickForm(chosen, ticks=ticks, seasons=seasons, units=units)
    ticked = ticking.cleaned_data.get("ticked", []) if ticking.is_valid() else []
    if request.method == "POST" and "offer" in chosen:
        given = {"car": car, "history": history, "ticked": ticked}
        if form_action(ticking, offer_car, by=by, **given):
            row, code = ticking.outcome
            return render(request, "cars/handover/offered.html", {"handover": row, "code": code})
    package = package_lines(make_package(goods, ticked), units, car.team.club.zone())
    told = together_words(ticks, ticked, units)
    context |= {"ticking": ticking, "package": package, "history": history, "told": told}
    status = 400 if ticking.errors else 200
    return render(request, "cars/handover/offer.html", context, status=status)


@login_required
def car_handed(request: HttpRequest, pk: UUID) -> HttpResponse:
    """The sheets that came with a car, for all who read its sheets; a chief hands it on here."""
    car, by = car_or_404(request, pk), person(request)
    rows = HandedSheet.objects.filter(sheet__car=car, team=car.team_id).select_related("sheet")
    page, older = page_of(rows.order_by("-id"), A_PAGE, before_of(request.GET))
    may_offer = is_allowed(check_can_lead, by, car.team)
    runs = HandedRun.objects.filter(run__car=car, team=car.team_id).select_related("run")
    context = {
        "car": car,
        "page": page,
        "older": older,
        "may_offer": may_offer,
        "runs": runs.order_by("-id")[:A_PAGE],
    }
    return render(request, "cars/handover/car_handed.html", context)


@login_required
def handovers(request: HttpRequest) -> HttpResponse:
    """Those of the teams one is chief of, the newest first."""
    page, older = page_of(
        handovers_of(person(request)).order_by("-id"), A_PAGE, before_of(request.GET)
    )
    return render(request, "cars/handover/handovers.html", {"page": page, "older": older})


@login_required
@never_cache
def take(request: HttpRequest) -> HttpResponse:
    """The receiver reads what the code offers, says what the car is with them, and confirms."""
    by = person(request)
    teams = list(Team.objects.filter(pk__in=roles_of(by).chief_teams).select_related("club"))
    form = CodeForm(request.POST or None)
    asked = {"title": "Take a car over", "button": "Show what is offered", "back_to": "Handovers"}
    back = reverse("handovers")
    lead = "The chief of the team that gives it has a code for you. Only a chief can take a car."
    if not form.is_valid():
        return form_page(request, form, back=back, lead=lead, **asked)
    count_against_limit(by, "codes")
    offer = offer_of(form.cleaned_data["code"])
    if offer is None:
        form.add_error("code", GONE)
        return form_page(request, form, back=back, lead=lead, **asked)
    confirmed = "confirm" in request.POST
    initial = _as_it_was(offer.package, teams) | {"code": form.cleaned_data["code"]}
    taking = TakeForm(request.POST if confirmed else None, teams=teams, initial=initial)
    if confirmed and submit_action(taking, take_car, by=by):
        return redirect("handover", pk=taking.outcome.pk)
    context = {
        "form": taking,
        "package": package_lines(
            offer.package, by.units(teams[0].club.units()), teams[0].club.zone()
        ),
        "expires_at": offer.expires_at,
    }
    status = 400 if taking.errors else 200
    return render(request, "cars/handover/take.html", context, status=status)


def _as_it_was(package: dict[str, Any], teams: list[Team]) -> dict[str, Any]:
    """What the car is with the giver, and the receiver's chassis of that name, if there is one."""
    name = package["chassis"]["name"]
    here = Chassis.objects.filter(club__in={team.club_id for team in teams}, name=name).first()
    return {"number": package["number"], "chassis": here, "chassis_name": name}


def handover_or_404(request: HttpRequest, pk: UUID) -> Handover:
    """One that a team gave or took of which the viewer is chief."""
    return get_object_or_404(Handover.objects.select_related("car", "by"), pk=pk)


@login_required
def handover(request: HttpRequest, pk: UUID) -> HttpResponse:
    """One handover: where it stands, and what goes or went along."""
    row, by = handover_or_404(request, pk), person(request)
    gives = roles_of(by).is_chief(row.team_id)
    context = {
        "handover": row,
        "gives": gives,
        "takes": roles_of(by).is_chief(row.to_team_id),
        "package": package_of(row, by),
    }
    return render(request, "cars/handover/handover.html", context)


@login_required
@require_POST
def withdraw(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Makes the code worthless."""
    row = handover_or_404(request, pk)
    done = "Withdrawn: the code opens nothing any more."
    run_action(request, withdraw_offer, done=done, by=person(request), handover=row)
    return redirect("handover", pk=pk)


@login_required
@require_POST
def take_back(request: HttpRequest, pk: UUID) -> HttpResponse:
    """The car is the giver's again, until the receiver has written on it."""
    row = handover_or_404(request, pk)
    done = "The car is yours again. What had gone along is gone from the other team."
    run_action(request, take_car_back, done=done, by=person(request), handover=row)
    return redirect("handover", pk=pk)


@login_required
def handed_sheet(request: HttpRequest, pk: UUID) -> HttpResponse:
    """What came with one sheet of a car's time with another team."""
    by = person(request)
    rows = HandedSheet.objects.select_related("sheet__car", "team__club")
    found = get_object_or_404(rows, sheet=pk)
    row = read_or_404(by, rows, found.pk)
    lines = sheet_lines(row.content, by.units(row.team.club.units()), catalogue())
    return render(request, "cars/handover/handed_sheet.html", {"row": row, "lines": lines})


@login_required
def handed_run(request: HttpRequest, pk: UUID) -> HttpResponse:
    """What came with one run of a car's time with another team."""
    rows = HandedRun.objects.select_related("run__car")
    found = get_object_or_404(rows, run=pk)
    row = read_or_404(person(request), rows, found.pk)
    lines = handed_run_lines(row.content, catalogue())
    return render(request, "cars/handover/handed_run.html", {"row": row, "lines": lines})
