"""A team's own targets for a car, and moving the car to the baseline in force."""

from uuid import UUID

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST

from cars.baselines.actions.own_targets import drop_own_target, move_to_baseline, set_own_target
from cars.baselines.pages.own_target_forms import OwnTargetForm
from cars.baselines.presenters.fleet_spread import review
from cars.baselines.presenters.own_targets import car_own_targets
from cars.lookups import baseline_or_404, car_or_404
from cars.models import Baseline, OwnTarget
from cars.permissions import check_can_keep_baseline, check_can_keep_car
from clubsetup.access.errors import is_allowed
from clubsetup.access.ids import id_or_none
from clubsetup.site.list_pages import before_of
from clubsetup.site.pages import person, run_action, submit_action


@login_required
def own_targets(request: HttpRequest, pk: UUID) -> HttpResponse:
    """The team's own targets beside the maker's and the club's figures."""
    car, by = car_or_404(request, pk), person(request)
    may_keep = is_allowed(check_can_keep_car, by, car)
    view = car_own_targets(car, by, before_of(request.GET))
    form = None
    if request.method == "POST":
        check_can_keep_car(by, car)
    if may_keep:
        units = by.units(car.team.club.units())
        initial = {"box": request.GET.get("box", ""), "surface": ""}
        form = OwnTargetForm(request.POST or None, known=view.known, units=units, initial=initial)
        if submit_action(form, set_own_target, by=by, car=car):
            messages.success(request, "Kept beside the baseline.")
            return redirect("own-targets", pk=pk)
    context = {"car": car, "view": view, "form": form, "may_keep": may_keep}
    return render(request, "cars/baselines/own_targets.html", context)


@login_required
@require_POST
def own_target_drop(request: HttpRequest, pk: UUID) -> HttpResponse:
    """The team goes by the baseline again."""
    own_target = get_object_or_404(OwnTarget.objects.select_related("car__team"), pk=pk)
    done = "Dropped: the baseline is what counts again."
    run_action(request, drop_own_target, done=done, by=person(request), own_target=own_target)
    return redirect("own-targets", pk=own_target.car_id)


@login_required
@require_POST
def car_move_to_baseline(request: HttpRequest, pk: UUID) -> HttpResponse:
    """The car goes by the newer version."""
    car, by = car_or_404(request, pk), person(request)
    baseline = get_object_or_404(Baseline.objects, pk=id_or_none(request.POST.get("baseline", "")))
    done = f"The car goes by version {baseline.version} from now on."
    run_action(request, move_to_baseline, done=done, by=by, car=car, baseline=baseline)
    return redirect("car", pk=pk)


@login_required
def baseline_review(request: HttpRequest, pk: UUID) -> HttpResponse:
    """A baseline's targets beside what teams run; for stewards."""
    baseline, by = baseline_or_404(pk), person(request)
    check_can_keep_baseline(by, baseline)
    context = {"baseline": baseline, "lines": review(baseline, by)}
    return render(request, "cars/baselines/baseline_review.html", context)
