"""Draws of cars: making one, and showing everybody how to repeat it."""

from typing import Any
from uuid import UUID

from django import forms
from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render

from clubsetup.access.errors import is_allowed
from clubsetup.offline.forms import SentOnce
from clubsetup.site.list_pages import before_of, page_of
from clubsetup.site.pages import form_action, person
from events.actions.draws import draw_cars
from events.models import Draw, Event, EventClass
from events.queries.draws import DrawView
from teams.permissions import check_can_officiate

A_PAGE = 30
EVENTS = Event.objects.select_related("club", "track")


class DrawForm(SentOnce):
    purpose = forms.CharField(max_length=80, label="Drawn for", initial="Ballast check")
    event_class = forms.ModelChoiceField(
        EventClass.objects.none(), required=False, label="Class", empty_label="All classes"
    )
    count = forms.IntegerField(min_value=1, label="How many cars", initial=3)
    seed = forms.CharField(
        max_length=80,
        label="Seed",
        help_text="Let somebody in the queue say it, or throw dice in front of everybody, "
        "before it is typed. It can be used once.",
    )

    def __init__(self, *args: Any, event: Event, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        classes = self.fields["event_class"]
        assert isinstance(classes, forms.ModelChoiceField)  # noqa: S101 (declared above)
        classes.queryset = event.classes.select_related("race_class")
        self.fields["seed"].widget.attrs |= {"autocomplete": "off", "autocapitalize": "off"}


@login_required
def draws(request: HttpRequest, pk: UUID) -> HttpResponse:
    """The draws of an event, for every member of the club; officials draw."""
    event, user = get_object_or_404(EVENTS, pk=pk), person(request)
    can_draw = is_allowed(check_can_officiate, user, event.club)
    form: Any = DrawForm(request.POST or None, event=event)
    if request.method == "POST":
        check_can_officiate(user, event.club)
        made = form.is_valid() and Draw.objects.filter(pk=form.sent_id()).first()
        if made or (form.is_valid() and _draw(form, user, event)):
            return redirect("draw", made.pk if made else form.outcome.pk)
    rows = event.draws.select_related("event_class__race_class", "by")
    drawn, older = page_of(rows, A_PAGE, before_of(request.GET))
    is_open = can_draw and event.state == Event.State.UNDER_WAY
    form = form if is_open else None
    context = {"event": event, "draws": drawn, "older": older, "form": form}
    return render(request, "events/draws.html", context)


def _draw(form: DrawForm, user: Any, event: Event) -> bool:
    given = {**form.cleaned_data, "draw_id": form.sent_id()}
    del given["row_id"]
    return form_action(form, draw_cars, by=user, event=event, **given)


@login_required
def draw(request: HttpRequest, pk: UUID) -> HttpResponse:
    """One draw, and how anybody can repeat it."""
    draw = get_object_or_404(
        Draw.objects.select_related("event", "event_class__race_class", "by"), pk=pk
    )
    return render(request, "events/draw.html", {"draw": draw, "view": DrawView(draw)})
