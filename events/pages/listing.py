"""Events: the list, one event, planning and running it."""

from typing import Any
from uuid import UUID

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from clubsetup.access.errors import is_allowed
from clubsetup.access.models import User
from clubsetup.site.list_pages import before_of, page_of
from clubsetup.site.pages import form_page, person, run_action, submit_action
from events.actions import events as actions
from events.models import Event, EventClass
from events.pages.forms import EventClassForm, EventForm
from events.permissions import check_can_run_event, may_see_desk
from events.queries.listing import events_of, stewarded_clubs, teams_to_enter
from events.queries.published import published_findings, start_list
from teams.models import Club
from teams.permissions import check_can_steward

A_PAGE = 30
EVENTS = Event.objects.select_related("club", "track")


@login_required
def events(request: HttpRequest) -> HttpResponse:
    """The events of the person's clubs, page by page."""
    user = person(request)
    page, older = page_of(events_of(user), A_PAGE, before_of(request.GET))
    context = {"events": page, "older": older, "clubs": stewarded_clubs(user)}
    return render(request, "events/events.html", context)


@login_required
def event(request: HttpRequest, pk: UUID) -> HttpResponse:
    """One event: its classes, who is entered, what is published."""
    event, user = get_object_or_404(EVENTS, pk=pk), person(request)
    context = {
        "event": event,
        "classes": event.classes.select_related("race_class", "rule_set__race_class"),
        "start_list": start_list(event.pk),
        "published": published_findings(event.pk),
        "teams": teams_to_enter(user, event),
        **_running(user, event),
    }
    return render(request, "events/event.html", context)


def _running(user: User, event: Event) -> dict[str, Any]:
    """What those see who run the event."""
    can_run = is_allowed(check_can_run_event, user, event)
    return {
        "can_run": can_run,
        "desk": may_see_desk(user, event),
        "class_form": EventClassForm(event=event) if can_run else None,
    }


@login_required
def plan(request: HttpRequest, pk: UUID) -> HttpResponse:
    """A steward plans an event."""
    club = get_object_or_404(Club, pk=pk)
    check_can_steward(person(request), club)
    form: Any = EventForm(request.POST or None, club=club)
    if submit_action(form, actions.plan_event, by=request.user, club=club):
        messages.success(request, "Planned. Add the classes that are run.")
        return redirect("event", form.outcome.pk)
    return form_page(
        request,
        form,
        title="Plan an event",
        button="Plan it",
        back=reverse("events"),
        back_to="Events",
    )


@login_required
@require_POST
def class_add(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Runs a class at the event, under the rules that hold on its first day."""
    event = get_object_or_404(EVENTS, pk=pk)
    check_can_run_event(person(request), event)
    form: Any = EventClassForm(request.POST, event=event)
    if submit_action(form, actions.add_event_class, by=request.user, event=event):
        messages.success(
            request, f"{form.outcome} is run under rules {form.outcome.rule_set.version}."
        )
    else:
        for problems in form.errors.values():
            messages.error(request, problems[0])
    return redirect("event", pk)


@login_required
@require_POST
def class_remove(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Takes a class that nobody has entered out of the event."""
    event_class = get_object_or_404(
        EventClass.objects.select_related("event__club", "race_class"), pk=pk
    )
    done = f"{event_class} is not run."
    run_action(
        request, actions.remove_event_class, by=request.user, event_class=event_class, done=done
    )
    return redirect("event", event_class.event_id)
