"""Checking the scales before the first car, and what came of it."""

from typing import Any
from uuid import UUID

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST

from clubsetup.access.errors import is_allowed
from clubsetup.site.list_pages import before_of, page_of
from clubsetup.site.pages import form_action, person, run_action
from events.actions.scale_checks import check_scales, set_corrections
from events.models import ScaleCheck, ScaleSet
from events.pages.scale_check_form import ScaleCheckForm
from events.permissions import check_can_keep_scales
from events.queries.scales import standing_check
from teams.permissions import check_can_officiate

SETS = ScaleSet.objects.select_related("club")
CHECKS = ScaleCheck.objects.select_related("scale_set__club", "by")
A_PAGE = 30


@login_required
def scale_set(request: HttpRequest, pk: UUID) -> HttpResponse:
    """One set of scales: whether it may be weighed on now, and its checks."""
    scale_set, user = get_object_or_404(SETS, pk=pk), person(request)
    checks, older = page_of(CHECKS.filter(scale_set=scale_set), A_PAGE, before_of(request.GET))
    context = {
        "set": scale_set,
        "check": standing_check(scale_set),
        "checks": checks,
        "older": older,
        "can_check": is_allowed(check_can_officiate, user, scale_set.club),
        "can_keep": is_allowed(check_can_keep_scales, user, scale_set),
    }
    return render(request, "events/scale_set.html", context)


@login_required
def scale_check_new(request: HttpRequest, pk: UUID) -> HttpResponse:
    """An official lays the reference masses on each pad and types what it shows."""
    scale_set, user = get_object_or_404(SETS, pk=pk), person(request)
    check_can_officiate(user, scale_set.club)
    before = ScaleCheck.objects.filter(scale_set=scale_set).first()
    units = user.units(scale_set.club.units())
    form: Any = ScaleCheckForm(
        request.POST or None, scale_set=scale_set, before=before, units=units
    )
    if form.is_valid():
        made = ScaleCheck.objects.filter(pk=form.sent_id()).first()
        if made or form_action(form, check_scales, by=user, scale_set=scale_set, **form.values()):
            return redirect("scale-check", made.pk if made else form.outcome.pk)
    return render(request, "events/scale_check_new.html", {"set": scale_set, "form": form})


@login_required
def scale_check(request: HttpRequest, pk: UUID) -> HttpResponse:
    """One check as it was made."""
    check, user = get_object_or_404(CHECKS, pk=pk), person(request)
    context = {
        "check": check,
        "set": check.scale_set,
        "units": user.units(check.scale_set.club.units()),
        "can_check": is_allowed(check_can_officiate, user, check.scale_set.club),
    }
    return render(request, "events/scale_check.html", context)


@login_required
@require_POST
def scale_corrections(request: HttpRequest, pk: UUID) -> HttpResponse:
    """A steward turns the corrections on or off."""
    scale_set = get_object_or_404(SETS, pk=pk)
    applied = request.POST.get("applied") == "yes"
    done = "Weights count with the correction from now on." if applied else "Weights count as read."
    if scale_set.apply_corrections == applied:
        messages.info(request, done)
    else:
        run_action(
            request,
            set_corrections,
            by=request.user,
            scale_set=scale_set,
            applied=applied,
            done=done,
        )
    return redirect("scale-set", pk)
