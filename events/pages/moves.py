"""Starting, ending, reopening an event; publishing what was found at it."""

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from typing import Any
from uuid import UUID

from django.contrib.auth.decorators import login_required
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseNotAllowed
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.views.decorators.http import require_http_methods

from clubsetup.site.pages import confirm_page, person, run_action
from events.actions import events as actions
from events.models import Event
from events.permissions import check_can_run_event
from events.queries.days import another_day, before_its_end


def _nothing(_: Event) -> str:
    return ""


@dataclass(frozen=True, kw_only=True)
class Ask:
    """What is asked before a move: `title` and `button` around the event's name."""

    title: str
    button: str
    safe: str
    lead: str
    # What is odd about the day, if anything.
    caution: Callable[[Event], str] = _nothing


@dataclass(frozen=True, kw_only=True)
class EventStep:
    """What a button on the event's page does, what is said then, and what is asked before."""

    act: Callable[..., Event]
    done: str
    ask: Ask | None = None


START = Ask(
    title="Start {event}?",
    button="Start {event}",
    safe="Not yet",
    lead="The desk opens: cars are weighed and looked at. An event that was started does not go "
    "back to planned.",
    caution=another_day,
)
END = Ask(
    title="End {event}?",
    button="End {event}",
    safe="Go on",
    lead="The desk closes: nothing more is weighed or looked at, and officials no longer see the "
    "entered cars' ballast pieces. The desk can be opened again on the event's page.",
    caution=before_its_end,
)
PUBLISH = Ask(
    title="Publish the outcomes of {event}?",
    button="Publish the outcomes",
    safe="Not yet",
    lead="Every member of the club then reads what each car came to, by its number and the "
    "driver's name as the start list shows it, without weights and without anything about a "
    "driver's age or weight. The outcomes can be taken back later; what was read by then, "
    "was read.",
)
MOVES = {
    "start": EventStep(act=actions.start_event, done="The desk is open.", ask=START),
    "end": EventStep(act=actions.end_event, done="The event is over and the desk closed.", ask=END),
    "reopen": EventStep(act=actions.reopen_event, done="The desk is open again."),
    "publish": EventStep(
        act=actions.publish_findings, done="The club's members see the outcomes now.", ask=PUBLISH
    ),
    "withhold": EventStep(
        act=partial(actions.publish_findings, published=False),
        done="The outcomes are no longer shown to the club's members.",
    ),
}


@login_required
@require_http_methods(["GET", "POST"])
def move(request: HttpRequest, pk: UUID, step: str) -> HttpResponse:
    """Starts, ends, reopens, publishes or withholds; asks first where that is called for."""
    event = get_object_or_404(Event.objects.select_related("club"), pk=pk)
    if step not in MOVES:
        raise Http404
    made = MOVES[step]
    check_can_run_event(person(request), event)
    if request.method == "GET":
        return _ask(request, event, made.ask) if made.ask else HttpResponseNotAllowed(["POST"])
    meant: dict[str, Any] = {"another_day": True} if "another_day" in request.POST else {}
    run_action(request, made.act, by=request.user, event=event, done=made.done, **meant)
    return redirect("event", pk)


def _ask(request: HttpRequest, event: Event, ask: Ask) -> HttpResponse:
    caution = ask.caution(event)
    return confirm_page(
        request,
        title=ask.title.format(event=event),
        lead=ask.lead,
        caution=caution,
        button=ask.button.format(event=event) + (" all the same" if caution else ""),
        safe=ask.safe,
        back=reverse("event", args=[event.pk]),
        back_to=str(event),
        says="another_day" if caution and ask is START else "",
    )
