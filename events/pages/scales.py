"""The club's scales."""

from typing import Any
from uuid import UUID

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render

from clubsetup.access.errors import is_allowed
from clubsetup.site.pages import person, submit_action
from events.actions.scales import add_scale_set
from events.models import ScaleSet
from events.pages.forms import ScaleSetForm
from events.permissions import check_can_keep_scales
from teams.models import Club


@login_required
def scales(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Which scales there are; a steward adds to them."""
    club, user = get_object_or_404(Club, pk=pk), person(request)
    can_keep = is_allowed(check_can_keep_scales, user, club)
    form: Any = ScaleSetForm(request.POST or None, units=user.units(club.units()))
    if request.method == "POST":
        check_can_keep_scales(user, club)
        if submit_action(form, add_scale_set, by=user, club=club):
            messages.success(request, f"{form.outcome} can be weighed with.")
            return redirect("scales", pk)
    context = {"club": club, "scales": ScaleSet.objects.filter(club=club)}
    return render(request, "events/scales.html", {**context, "form": form if can_keep else None})
