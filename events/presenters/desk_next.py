"""What is next at the desk of an event, for its officials: one sentence and one button."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from uuid import UUID

from django.urls import reverse
from django.utils import timezone

from clubsetup.clock.writing import day
from events.models import Entry, Event
from events.queries.desk import standing_findings
from events.queries.states import State, state_of

SEE = "See who is entered"
NOUNS = (
    (State.FAILS, "fails", "fail"),
    (State.TOO_CLOSE, "is too close to call", "are too close to call"),
    (State.NOT_CHECKED, "is not wholly checked", "are not wholly checked"),
)


@dataclass(frozen=True, slots=True)
class DeskNext:
    """An event, what is left to do at its desk, and the thing to do."""

    event: Event
    point: str
    after: str
    does: str
    url: str


def desk_next(events: Sequence[Event], *, weighs: bool = True) -> list[DeskNext]:
    """Of the events under way; where none is, of the next one. As many queries for one as for
    eight. `weighs`: whoever looks is an official, and not a steward alone.
    """
    on = [event for event in events if event.state == Event.State.UNDER_WAY]
    if not on:
        return [_planned(event) for event in events[:1]]
    states = _states(on)
    return [_under_way(event, states[event.pk], weighs=weighs) for event in on]


def _states(events: Sequence[Event]) -> dict[UUID, Counter[State]]:
    entries = list(Entry.objects.current().filter(event__in=events).select_related("event"))
    findings = standing_findings(entries)
    states: dict[UUID, Counter[State]] = {event.pk: Counter() for event in events}
    for entry in entries:
        states[entry.event_id][state_of(findings[entry.pk])] += 1
    return states


def _under_way(event: Event, states: Counter[State], *, weighs: bool) -> DeskNext:
    entered, waiting = states.total(), states[State.NOT_WEIGHED]
    said = [
        f"{states[state]} {one if states[state] == 1 else many}"
        for state, one, many in NOUNS
        if states[state]
    ]
    after = f" {', '.join(said)}." if said else ""
    if not weighs:
        point = f"{entered} entered, {waiting} still to weigh."
        return DeskNext(event, point, after, SEE, reverse("event", args=[event.pk]))
    desk = reverse("desk", args=[event.pk])
    if not entered:
        return DeskNext(event, "No car is entered.", "", "Open the desk", desk)
    if waiting:
        return DeskNext(
            event, f"{waiting} of {entered} still to weigh.", after, "Weigh the next car", desk
        )
    return DeskNext(event, f"All {entered} are weighed.", after, "Open the desk", desk)


def _planned(event: Event) -> DeskNext:
    if event.starts_on <= timezone.localdate():
        point = "Planned for today, and not begun."
    else:
        point = f"Nothing is under way; it begins {day(event.starts_on)}."
    return DeskNext(event, point, "", SEE, reverse("event", args=[event.pk]))
