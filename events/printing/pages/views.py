"""Where the prints of an event, an entry and a car's ballast are offered."""

from uuid import UUID

from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render

from cars.models import Car
from clubsetup.runtime.public import public_address
from clubsetup.site.pages import person
from events.models import Entry, Event
from events.permissions import check_can_enter_walk_in
from events.printing.presenters.label_sheets import SHEETS
from teams.lookups import read_or_404
from teams.queries.roles import roles_of


@login_required
def event_prints(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Tech cards, weigh-in list and record book, for officials and stewards."""
    event = get_object_or_404(Event.objects.select_related("club"), pk=pk)
    check_can_enter_walk_in(person(request), event)
    context = {"event": event, "address": public_address()}
    return render(request, "events/printing/event_prints.html", context)


@login_required
def entry_prints(request: HttpRequest, pk: UUID) -> HttpResponse:
    """The tech card of an entry and the labels for its ballast."""
    entry = read_or_404(person(request), Entry.objects.select_related("event"), pk)
    reads_team = entry.team_id in roles_of(person(request)).readable_teams
    context = {"entry": entry, "sheets": SHEETS, "reads_team": reads_team}
    return render(request, "events/printing/entry_prints.html", context)


@login_required
def car_labels(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Labels for the ballast on a car, on sheets of a size the team has."""
    car = read_or_404(person(request), Car.objects.select_related("team"), pk)
    return render(request, "events/printing/car_labels.html", {"car": car, "sheets": SHEETS})
