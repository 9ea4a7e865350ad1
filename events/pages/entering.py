"""Entering cars: a team its own, an official by the number on the car."""

from typing import Any
from uuid import UUID

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from clubsetup.site.pages import form_page, person, run_action, submit_action
from events.actions.entries import (
    confirm_entry,
    enter,
    enter_walk_in,
    renumber_entry,
    restore_entry,
    withdraw_entry,
)
from events.models import Entry, Event
from events.pages.forms import ByHandForm, ConfirmForm, EnterForm, NumberForm, RenumberForm
from events.permissions import (
    check_can_change_entry,
    check_can_confirm,
    check_can_enter,
    check_can_enter_walk_in,
)
from events.queries.walk_in import cars_by_number
from teams.models import Team

EVENTS = Event.objects.select_related("club", "track")
ENTRIES = Entry.objects.select_related("event__club", "event_class__race_class", "club")


@login_required
def enter_car(request: HttpRequest, pk: UUID, team: UUID) -> HttpResponse:
    """A team's crew enter a car and driver."""
    event, whose = get_object_or_404(EVENTS, pk=pk), get_object_or_404(Team, pk=team)
    check_can_enter(person(request), event, whose)
    form: Any = EnterForm(request.POST or None, event=event, team=whose)
    if submit_action(form, enter, by=request.user):
        messages.success(request, f"{form.outcome} is entered.")
        return redirect("entry", form.outcome.pk)
    return form_page(
        request, form, title=f"Enter {event}", lead=str(whose), button="Enter", **_back(event)
    )


@login_required
def walk_in(request: HttpRequest, pk: UUID) -> HttpResponse:
    """An official enters a car by its number: first the number, then whose."""
    event = get_object_or_404(EVENTS, pk=pk)
    check_can_enter_walk_in(person(request), event)
    number = (request.POST or request.GET).get("car_number", "").strip()
    choices = _cars(event, number) if number else []
    if not choices:
        return _ask_number(request, event, number)
    form: Any = ByHandForm(
        request.POST or None, event=event, choices=choices, initial={"car_number": number}
    )
    if submit_action(form, enter_walk_in, by=request.user):
        messages.success(request, f"{form.outcome} is entered.")
        return redirect("entry", form.outcome.pk)
    title = f"Add car {number}, which is not entered"
    return form_page(request, form, title=title, button="Enter", **_desk(event))


def _ask_number(request: HttpRequest, event: Event, number: str) -> HttpResponse:
    form = NumberForm({"car_number": number} if number else None)
    if number:
        form.add_error("car_number", f"No team of {event.club} has a car {number}.")
    return render(request, "events/walk_in.html", {"event": event, "form": form})


def _cars(event: Event, number: str) -> list[tuple[str, str]]:
    return [(str(car.car_id), car.team) for car in cars_by_number(event.pk, number)]


@login_required
def confirm(request: HttpRequest, pk: UUID) -> HttpResponse:
    """A team's crew stand by an entry that was made by hand."""
    entry = get_object_or_404(ENTRIES, pk=pk)
    check_can_confirm(person(request), entry)
    form: Any = ConfirmForm(request.POST or None, entry=entry)
    if submit_action(form, confirm_entry, by=request.user, entry=entry):
        messages.success(request, f"{entry} is confirmed.")
        return redirect("entry", pk)
    return form_page(
        request,
        form,
        title=f"Confirm {entry} at {entry.event}",
        lead="The club entered this car at the scales. Once you confirm it, its officials see the "
        "ballast you list for the car, and are told once whether the driver is eligible by age.",
        button="Confirm the entry",
        back=reverse("entry", args=[pk]),
        back_to=str(entry),
    )


@login_required
def renumber(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Another number for an entry."""
    entry = get_object_or_404(ENTRIES, pk=pk)
    check_can_change_entry(person(request), entry)
    form: Any = RenumberForm(request.POST or None, initial={"number": entry.number})
    if submit_action(form, renumber_entry, by=request.user, entry=entry):
        return redirect("entry", pk)
    back = {"back": reverse("entry", args=[pk]), "back_to": str(entry)}
    return form_page(request, form, title=f"Number of {entry}", button="Keep it", **back)


@login_required
@require_POST
def withdraw(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Takes an entry off the start list."""
    entry = get_object_or_404(ENTRIES, pk=pk)
    run_action(request, withdraw_entry, by=request.user, entry=entry, done=f"{entry} is withdrawn.")
    return redirect("entry", pk)


@login_required
@require_POST
def restore(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Puts a withdrawn entry on the start list again."""
    entry = get_object_or_404(ENTRIES, pk=pk)
    run_action(request, restore_entry, by=request.user, entry=entry, done=f"{entry} is back.")
    return redirect("entry", pk)


def _back(event: Event) -> dict[str, str]:
    return {"back": reverse("event", args=[event.pk]), "back_to": event.name}


def _desk(event: Event) -> dict[str, str]:
    return {"back": reverse("desk", args=[event.pk]), "back_to": "Desk"}
