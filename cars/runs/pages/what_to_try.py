"""What to try: what the tables suggest for what is felt, in this car's figures."""

from datetime import datetime
from decimal import Decimal
from functools import partial
from typing import Any
from uuid import UUID

from django import forms
from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse

from cars.lookups import car_or_404
from cars.models import Sheet, TrackChange
from cars.permissions import check_can_open_sheet
from cars.runs.actions.at_track import set_sheet_of
from cars.runs.actions.track_changes import note_track_change
from cars.runs.presenters.feel_pictures import questions
from cars.runs.presenters.what_to_try import show_what_to_try
from cars.runs.queries.felt_params import felt_of
from cars.runs.queries.suggestions import Felt
from cars.runs.queries.what_to_try import what_to_try
from clubsetup.access.errors import is_allowed
from clubsetup.access.ids import new_id
from clubsetup.access.models import User
from clubsetup.offline.forms import SentOnce
from clubsetup.offline.submissions import for_devices, submit_once
from clubsetup.site.pages import person


class TryForm(SentOnce):
    """A suggestion that was followed, or a change made again: noted once on the car."""

    outcome: Any
    adjuster = forms.SlugField(max_length=40)
    spot = forms.CharField(max_length=10)
    amount = forms.DecimalField(max_digits=12, decimal_places=4)
    unit = forms.CharField(max_length=12)

    def action_values(self) -> dict[str, Any]:
        """What the action takes of a valid form."""
        names = ("adjuster", "spot", "amount", "unit")
        return {"change_id": self.sent_id(), **{name: self.cleaned_data[name] for name in names}}


@login_required
@for_devices
def what_to_try_page(request: HttpRequest, pk: UUID) -> HttpResponse:
    """What to try now; what was tried is noted on the car, as on its page at the track."""
    car, by = car_or_404(request, pk), person(request)
    form = TryForm(request.POST or None)
    if request.method == "POST":
        check_can_open_sheet(by, car)
        note = partial(_note, sheet=set_sheet_of(car))
        track = reverse("car-track", args=[pk])
        sent = submit_once(request, form, note, TrackChange, then=track)
        if sent is not None:
            return sent
    answer = what_to_try(car, by, felt_of(request.GET))
    shown = show_what_to_try(answer, by.units(car.team.club.units()))
    context = {
        "car": car,
        "shown": shown,
        "answer": answer,
        "asked": _asked(answer.felt),
        "may_write": answer.now is not None and is_allowed(check_can_open_sheet, by, car),
        "new_id": new_id,
        "errors": [str(each) for errors in form.errors.values() for each in errors],
    }
    status = 400 if form.errors else 200
    return render(request, "cars/runs/what_to_try.html", context, status=status)


def _note(
    *,
    by: User,
    sheet: Sheet,
    amount: Decimal,
    device_at: datetime | None = None,
    **given: Any,
) -> TrackChange:
    """Made when it was noted on the device, where it waited there."""
    return note_track_change(by=by, sheet=sheet, amount=amount, made_at=device_at, **given)


def _asked(felt: Felt) -> list[dict[str, Any]]:
    """The five questions, with what is looked at now."""
    return [
        {"question": question, "chosen": getattr(felt, question.name), "stood": None, "errors": ""}
        for question in questions()
    ]
