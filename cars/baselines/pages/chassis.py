"""Chassis and their mounts, as the stewards keep them and members read them."""

from uuid import UUID

from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse

from cars.baselines.actions.chassis import add_chassis, edit_chassis
from cars.baselines.actions.mounts import add_mount
from cars.baselines.pages.forms import ChassisForm, MountForm
from cars.baselines.presenters.chassis_view import geometry_lines, mount_lines
from cars.baselines.queries.baseline_view import baselines_of
from cars.lookups import chassis_or_404
from cars.models import Chassis
from cars.permissions import check_can_keep_chassis
from clubsetup.access.errors import is_allowed
from clubsetup.site.list_pages import before_of, page_of
from clubsetup.site.pages import form_page, person, submit_action
from teams.models import Club
from teams.permissions import check_can_steward

A_PAGE = 40
WHOLE = (
    "The geometry is given whole or left empty. With it, turns and ballast can be computed. "
    "Lengths in mm or inches, rates in N/mm or lb/in."
)


@login_required
def chassis_list(request: HttpRequest, pk: UUID) -> HttpResponse:
    """The chassis a club knows, each with its baselines."""
    club = get_object_or_404(Club.objects, pk=pk)
    rows = list(Chassis.objects.filter(club=club))
    baselines, more = page_of(baselines_of(rows), A_PAGE, before_of(request.GET))
    context = {
        "club": club,
        "chassis": rows,
        "baselines": baselines,
        "more": more,
        "may_steward": is_allowed(check_can_steward, person(request), club),
    }
    return render(request, "cars/baselines/chassis_list.html", context)


@login_required
def chassis(request: HttpRequest, pk: UUID) -> HttpResponse:
    """One chassis with its baselines and mounts."""
    chassis, by = chassis_or_404(pk), person(request)
    units = by.units(chassis.club.units())
    baselines, more = page_of(baselines_of([chassis]), A_PAGE, before_of(request.GET))
    context = {
        "chassis": chassis,
        "geometry": geometry_lines(chassis, units),
        "baselines": baselines,
        "more": more,
        "mounts": mount_lines(chassis.mounts.all(), units),
        "may_keep": is_allowed(check_can_keep_chassis, by, chassis),
    }
    return render(request, "cars/baselines/chassis.html", context)


@login_required
def chassis_add(request: HttpRequest, pk: UUID) -> HttpResponse:
    club, by = get_object_or_404(Club.objects, pk=pk), person(request)
    check_can_steward(by, club)
    form = ChassisForm(request.POST or None, units=by.units(club.units()))
    if submit_action(form, add_chassis, by=by, club=club):
        return redirect("chassis", pk=form.outcome.pk)
    return form_page(
        request,
        form,
        title="A chassis",
        button="Add it",
        back=reverse("chassis-list", args=[pk]),
        back_to="Chassis",
        lead=WHOLE,
    )


@login_required
def chassis_edit(request: HttpRequest, pk: UUID) -> HttpResponse:
    chassis, by = chassis_or_404(pk), person(request)
    check_can_keep_chassis(by, chassis)
    form = ChassisForm(request.POST or None, chassis=chassis, units=by.units(chassis.club.units()))
    if submit_action(form, edit_chassis, by=by, chassis=chassis):
        return redirect("chassis", pk=pk)
    return form_page(
        request,
        form,
        title=f"Chassis {chassis}",
        button="Save",
        back=reverse("chassis", args=[pk]),
        back_to=str(chassis),
        lead=WHOLE,
    )


@login_required
def mount_add(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Adds a place for ballast."""
    chassis, by = chassis_or_404(pk), person(request)
    check_can_keep_chassis(by, chassis)
    form = MountForm(request.POST or None, units=by.units(chassis.club.units()))
    if submit_action(form, add_mount, by=by, chassis=chassis):
        return redirect("chassis", pk=pk)
    back = reverse("chassis", args=[pk])
    return form_page(
        request, form, title="A ballast mount", button="Add it", back=back, back_to=str(chassis)
    )
