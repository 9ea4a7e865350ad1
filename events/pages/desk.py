"""The desk: the queue, one car at the scales, weighing, ballast, voids."""

from collections.abc import Callable
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.db.models import Model
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from clubsetup.access.errors import WrongState, is_allowed
from clubsetup.offline.forms import SentOnce
from clubsetup.offline.submissions import SENDER, for_devices, submit_once
from clubsetup.site.pages import form_page, person
from events.actions.ballast import check_ballast, check_no_ballast, record_not_on_car
from events.actions.measuring import measure_car
from events.actions.voiding import void_ballast_check, void_tech_reading, void_weigh_in
from events.actions.weighing import weigh
from events.models import BallastCheck, Entry, Event, TechReading, Void, WeighIn
from events.pages.desk_forms import (
    BallastForm,
    MeasureForm,
    NoBallastForm,
    NotOnCarForm,
    VoidForm,
    WeighForm,
)
from events.permissions import (
    check_can_change_entry,
    check_can_confirm,
    check_can_enter_walk_in,
    check_can_inspect,
)
from events.presenters.queue import queue
from events.presenters.remedies import remedies
from events.presenters.verdict import desk_findings
from events.queries.ballast import pieces_on
from events.queries.desk import desk, matching, withdrawn
from events.queries.readings import asked_for
from events.queries.record import entry_record
from teams.lookups import read_or_404

EVENTS = Event.objects.select_related("club", "track")
ENTRIES = Entry.objects.select_related(
    "event__club", "event_class__race_class", "event_class__rule_set", "club"
).prefetch_related("event_class__rule_set__rules")
# What the next car is most likely weighed with, as this one was.
NOTHING_TO_MEASURE = "No rule of the class asks for a length: there is nothing to measure."
LAST_CHOICES = ("stage", "scale_set", "fuel_note")


@login_required
def desk_page(request: HttpRequest, pk: UUID) -> HttpResponse:
    """The queue; a number typed in full leads straight to its car."""
    event = get_object_or_404(EVENTS, pk=pk)
    check_can_enter_walk_in(person(request), event)
    search = request.GET.get("q", "").strip()
    every = desk(event)
    rows = matching(every, search)
    if search and len(rows) == 1:
        return redirect("entry", rows[0].entry.pk)
    context = {
        "event": event,
        "queue": queue(every, person(request).units(event.club.units()), shown=rows),
        "search": search,
        "gone": withdrawn(event, search) if search and not rows else [],
    }
    return render(request, "events/desk.html", context)


@login_required
def entry(request: HttpRequest, pk: UUID) -> HttpResponse:
    """One entry: the official's desk for it, the family's result."""
    return _entry_page(request, read_or_404(person(request), ENTRIES, pk))


def _entry_page(request: HttpRequest, entry: Entry, form: WeighForm | None = None) -> HttpResponse:
    user = person(request)
    at_desk = is_allowed(check_can_inspect, user, entry)
    pieces = list(pieces_on(entry)) if at_desk else []
    record, units = entry_record(entry, pieces), user.units(entry.club.units())
    is_open = entry.event.state == Event.State.UNDER_WAY and entry.withdrawn_at is None
    if at_desk and is_open and form is None:
        form = WeighForm(
            entry=entry, first=not record.is_weighed, units=units, initial=_last_choices(request)
        )
    context = {
        "entry": entry,
        "record": record,
        "units": units,
        "found": desk_findings(record, units),
        "remedies": remedies(record.standing, units),
        "queue": queue(desk(entry.event), units, here=entry.pk) if at_desk else None,
        "at_desk": at_desk,
        "is_open": is_open,
        "pieces": pieces,
        "asked": asked_for(entry.event_class.rule_set),
        "form": form if at_desk and is_open else None,
        "no_ballast": NoBallastForm(),
        "can_confirm": not entry.is_confirmed and is_allowed(check_can_confirm, user, entry),
        "can_change": is_allowed(check_can_change_entry, user, entry),
        "sees_desk": is_allowed(check_can_enter_walk_in, user, entry.event),
    }
    return render(request, "events/entry.html", context)


def _last_choices(request: HttpRequest) -> dict[str, Any]:
    return {name: request.session[name] for name in LAST_CHOICES if name in request.session}


def _at_desk(request: HttpRequest, pk: UUID) -> Entry:
    entry = get_object_or_404(ENTRIES, pk=pk)
    check_can_inspect(person(request), entry)
    return entry


@login_required
@require_POST
@for_devices
def weigh_car(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Keeps a weighing and shows the finding."""
    entry, user = _at_desk(request, pk), person(request)
    form = WeighForm(request.POST, entry=entry, units=user.units(entry.club.units()))
    # No fragment: with one, browsers leave the cursor out of the box for the next car.
    then = reverse("entry", args=[pk])
    answer = submit_once(request, form, weigh, WeighIn, then=then, entry=entry)
    if form.errors:
        form.point_at_the_first()
    else:
        for name in LAST_CHOICES:
            request.session[name] = request.POST.get(name, "")
    return answer or _entry_page(request, entry, form)


@login_required
@for_devices
def ballast(request: HttpRequest, pk: UUID) -> HttpResponse:
    """One look at one piece of ballast."""
    entry, user = _at_desk(request, pk), person(request)
    form = BallastForm(
        request.POST or None,
        request.FILES or None,
        entry=entry,
        units=user.units(entry.club.units()),
        initial=_as_marked(request, entry),
    )
    then = reverse("entry", args=[pk]) + "#ballast"
    answer = submit_once(request, form, check_ballast, BallastCheck, then=then, entry=entry)
    return answer or _form_page(
        request,
        form,
        title=f"Ballast on {entry}",
        button="Keep it",
        caution="A loose piece must not go on track: send the car back before anything else.",
        **_back(entry),
    )


def _as_marked(request: HttpRequest, entry: Entry) -> dict[str, Any]:
    """What the team says is written on a piece of theirs, to compare with what is."""
    asked = request.GET.get("piece", "")
    piece = next((p for p in pieces_on(entry) if str(p.pk) == asked), None)
    if piece is None:
        return {}
    return {
        "piece": piece.pk,
        "label": piece.label,
        "marked_mass": piece.marked_mass_typed,
        "place": str(piece.mount or ""),
    }


@login_required
@for_devices
def not_on_car(request: HttpRequest, pk: UUID) -> HttpResponse:
    """A piece that is on record is not on the car."""
    entry = _at_desk(request, pk)
    asked = {name: request.GET.get(name, "") for name in ("piece", "look")}
    form = NotOnCarForm(request.POST or None, entry=entry, initial=asked)
    then = reverse("entry", args=[pk]) + "#ballast"
    answer = submit_once(request, form, record_not_on_car, BallastCheck, then=then, entry=entry)
    return answer or _form_page(
        request,
        form,
        title=f"Not on the car: ballast on {entry}",
        button="Keep it",
        lead=f"{form.about}. The team's own list stays as it is; a car weighed before the race "
        "with it on is weighed again.",
        **_back(entry),
    )


@login_required
@require_POST
@for_devices
def no_ballast(request: HttpRequest, pk: UUID) -> HttpResponse:
    """The official looked and there is none."""
    entry = _at_desk(request, pk)
    form, then = NoBallastForm(request.POST), reverse("entry", args=[pk]) + "#ballast"
    answer = submit_once(request, form, check_no_ballast, BallastCheck, then=then, entry=entry)
    if form.errors:
        messages.error(request, " ".join(map(str, form.non_field_errors())))
    elif SENDER not in request.headers:
        messages.success(request, "Kept: no ballast on the car.")
    return answer or redirect(then)


@login_required
@for_devices
def measure(request: HttpRequest, pk: UUID) -> HttpResponse:
    """One length on the car that a rule asks for."""
    entry, user = _at_desk(request, pk), person(request)
    asked = asked_for(entry.event_class.rule_set)
    form = MeasureForm(
        request.POST or None,
        asked=asked,
        units=user.units(entry.club.units()),
    )
    then = reverse("entry", args=[pk]) + "#measured"
    answer = submit_once(request, form, measure_car, TechReading, then=then, entry=entry)
    title = f"Measure {entry}"
    words = {"button": "Keep it", "lead": "" if asked else NOTHING_TO_MEASURE, **_back(entry)}
    return answer or _form_page(request, form, title=title, **words)


@login_required
@for_devices
def weigh_in_void(request: HttpRequest, pk: UUID) -> HttpResponse:
    weigh_in = get_object_or_404(WeighIn.objects.select_related("entry__event", "club"), pk=pk)
    return _void(request, weigh_in.entry, void_weigh_in, weigh_in=weigh_in)


@login_required
@for_devices
def ballast_check_void(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Voids a look at a piece with a reason."""
    ballast_check = get_object_or_404(
        BallastCheck.objects.select_related("entry__event", "club"), pk=pk
    )
    return _void(request, ballast_check.entry, void_ballast_check, ballast_check=ballast_check)


@login_required
@for_devices
def tech_reading_void(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Voids a length with a reason."""
    tech_reading = get_object_or_404(
        TechReading.objects.select_related("entry__event", "club"), pk=pk
    )
    return _void(request, tech_reading.entry, void_tech_reading, tech_reading=tech_reading)


def _void(
    request: HttpRequest, entry: Entry, action: Callable[..., Void], **what: Model
) -> HttpResponse:
    check_can_inspect(person(request), entry)
    form = VoidForm(request.POST or None)
    if not form.is_bound and hasattr(next(iter(what.values())), "void"):
        raise WrongState("This record is void already.")
    answer = submit_once(
        request, form, action, Void, then=reverse("entry", args=[entry.pk]), **what
    )
    return answer or _form_page(
        request,
        form,
        title=f"Void: {next(iter(what.values()))}",
        button="Void it",
        lead="The record stays, struck through, with this reason and your name.",
        **_back(entry),
    )


def _form_page(request: HttpRequest, form: SentOnce, **words: str) -> HttpResponse:
    return form_page(request, form, template="events/desk_form.html", **words)


def _back(entry: Entry) -> dict[str, str]:
    return {"back": reverse("entry", args=[entry.pk]), "back_to": str(entry)}
