"""What is next for a car at events: what failed at the desk, what it is entered in or could be."""

from collections.abc import Mapping, Sequence
from datetime import timedelta
from uuid import UUID

from django.urls import reverse
from django.utils import timezone

from cars.garage.presenters.next_steps import NextStep, next_steps
from cars.garage.queries import CarLine
from cars.models import Sheet
from clubsetup.access.models import User
from clubsetup.clock.writing import day
from events.models import Entry, Event
from events.presenters.results import results_of
from events.queries.listing import entries_ahead, events_ahead
from events.queries.states import State
from teams.queries.roles import roles_of

SOON = timedelta(days=14)
TO_BE_PUT_RIGHT = {State.FAILS: "fails", State.TOO_CLOSE: "is too close to call"}


@next_steps(10)
def failed_at_the_desk(lines: Sequence[CarLine], viewer: User) -> Mapping[UUID, NextStep]:
    """At an event under way a finding keeps the car from being legal."""
    entries = [
        each for each in _entries(lines, viewer) if each.event.state == Event.State.UNDER_WAY
    ]
    return {
        result.entry.car_id: NextStep(
            before=f"{result.entry.event}: it ",
            point=TO_BE_PUT_RIGHT[result.state],
            after=f" at the desk. {' '.join(result.remedies)}".rstrip(),
            does="Read the findings",
            url=reverse("entry", args=[result.entry.pk]),
            for_readers=True,
        )
        for result in results_of(entries, viewer.units())
        if result.state in TO_BE_PUT_RIGHT
    }


@next_steps(60)
def event_ahead(lines: Sequence[CarLine], viewer: User) -> Mapping[UUID, NextStep]:
    """What a car that waits for nothing in the garage is entered in, or could be."""
    waiting = [line for line in lines if line.bench is None and line.sheet is not None]
    if not waiting:
        return {}
    entries = _entries(waiting, viewer)
    return {**_not_entered(waiting, entries, viewer), **_entered(waiting, entries)}


def _entered(lines: Sequence[CarLine], entries: Sequence[Entry]) -> dict[UUID, NextStep]:
    """A car that was set: would it be light there?"""
    sheets = {line.car.pk: line.sheet for line in lines}
    return {
        entry.car_id: NextStep(
            before="It is ",
            point=f"entered in {entry.event}, {_when(entry.event)}",
            after=f", and stands as set {day(sheet.made_on)}.",
            does="Pre-check the weight",
            url=reverse("pre-check", args=[entry.car_id]),
        )
        for entry in entries
        if (sheet := sheets[entry.car_id]) is not None and sheet.role == Sheet.Role.SET
    }


def _not_entered(
    lines: Sequence[CarLine], entries: Sequence[Entry], viewer: User
) -> dict[UUID, NextStep]:
    """The next event of the car's club is near, and nobody entered the car."""
    roles, last = roles_of(viewer), timezone.localdate() + SOON
    near = {each.club_id: each for each in reversed(events_ahead(viewer)) if each.starts_on <= last}
    there = {(entry.car_id, entry.event_id) for entry in entries}
    return {
        line.car.pk: NextStep(
            before=f"{event}, {_when(event)}: the car is ",
            point="not entered",
            after=".",
            does=f"Enter {line.car.number}",
            url=reverse("enter", args=[event.pk, line.car.team_id]),
        )
        for line in lines
        if roles.is_crew(line.car.team_id)
        and (event := near.get(line.car.team.club_id)) is not None
        and (line.car.pk, event.pk) not in there
    }


def _when(event: Event) -> str:
    if event.state == Event.State.UNDER_WAY:
        return "under way"
    return "today" if event.starts_on == timezone.localdate() else day(event.starts_on)


def _entries(lines: Sequence[CarLine], viewer: User) -> list[Entry]:
    """The entries of these cars in what is not over, what comes first last."""
    return entries_ahead(viewer, [line.car.pk for line in lines])


NEXT_STEPS = (failed_at_the_desk, event_ahead)
