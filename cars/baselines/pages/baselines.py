"""Baselines: read by members, drafted and published by stewards."""

from uuid import UUID

from django.contrib.auth.decorators import login_required
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from cars.baselines.actions.baselines import (
    copy_baseline,
    draft_baseline,
    publish_baseline,
    remove_baseline_value,
    set_baseline_values,
)
from cars.baselines.pages.forms import BaselineDraftForm, TargetForm
from cars.baselines.queries.baseline_view import baseline_view, target_texts
from cars.catalogue.keys import Key
from cars.lookups import baseline_or_404, chassis_or_404
from cars.models import Baseline, Measure
from cars.permissions import check_can_keep_baseline, check_can_keep_chassis
from clubsetup.access.errors import is_allowed
from clubsetup.site.pages import form_page, person, run_action, submit_action


@login_required
def baseline(request: HttpRequest, pk: UUID) -> HttpResponse:
    """A baseline's targets; a steward sets the next target of a draft here."""
    baseline, by = baseline_or_404(pk), person(request)
    may_keep = is_allowed(check_can_keep_baseline, by, baseline)
    view = baseline_view(baseline, by)
    form = None
    if may_keep and baseline.state == Baseline.State.DRAFT:
        units = by.units(baseline.club.units())
        initial = target_texts(view, request.GET.get("edit", ""), units)
        form = TargetForm(request.POST or None, initial=initial, known=view.catalogue, units=units)
        if submit_action(form, set_baseline_values, by=by, baseline=baseline):
            return redirect(f"{request.path}#set")
    elif request.method == "POST":
        check_can_keep_baseline(by, baseline)
    editing = request.GET.get("edit", "") if form else ""
    context = {
        "editing": editing,
        "baseline": baseline,
        "view": view,
        "form": form,
        "may_keep": may_keep,
    }
    return render(request, "cars/baselines/baseline.html", context)


@login_required
def baseline_draft(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Starts a draft for a chassis."""
    chassis, by = chassis_or_404(pk), person(request)
    check_can_keep_chassis(by, chassis)
    form = BaselineDraftForm(request.POST or None, club=chassis.club)
    if submit_action(form, draft_baseline, by=by, chassis=chassis):
        return redirect("baseline", pk=form.outcome.pk)
    back = reverse("chassis", args=[pk])
    return form_page(
        request,
        form,
        title=f"A baseline for the {chassis}",
        button="Start the draft",
        back=back,
        back_to=str(chassis),
    )


@login_required
@require_POST
def baseline_publish(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Puts a draft in force."""
    baseline = baseline_or_404(pk)
    by = person(request)
    note = request.POST.get("note", "")
    done = "The baseline is in force."
    run_action(request, publish_baseline, done=done, by=by, baseline=baseline, note=note)
    return redirect("baseline", pk=pk)


@login_required
@require_POST
def baseline_copy(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Makes the next version from this one."""
    baseline, by = baseline_or_404(pk), person(request)
    done = "A draft with the same targets: change it, then publish it."
    draft = run_action(request, copy_baseline, done=done, by=by, baseline=baseline)
    return redirect("baseline", pk=draft.pk if draft else pk)


@login_required
@require_POST
def baseline_value_remove(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Takes a target out of a draft."""
    baseline, by = baseline_or_404(pk), person(request)
    try:
        key = Key.of(request.POST.get("box", ""))
        measure = Measure.objects.get(pk=key.measure)
    except (ValueError, Measure.DoesNotExist):
        raise Http404 from None
    given = {"baseline": baseline, "measure": measure, "spot": key.spot}
    run_action(request, remove_baseline_value, done="Taken out.", by=by, **given)
    return redirect("baseline", pk=pk)
