"""Events: planned with their classes, started, ended, their findings published."""

from collections.abc import Mapping
from datetime import date
from types import MappingProxyType
from uuid import UUID

from clubsetup.access.actions import action, record
from clubsetup.access.errors import Invalid, WrongState
from clubsetup.access.ids import new_id
from clubsetup.access.models import User
from clubsetup.clock.writing import day
from events.models import Event, EventClass
from events.permissions import check_can_run_event
from events.queries import days
from events.queries.rule_sets import rules_on
from teams.models import Club, RaceClass, Track
from teams.permissions import check_can_steward

# What moves an event from which state to which.
MOVES = {
    "started": (Event.State.PLANNED, Event.State.UNDER_WAY),
    "ended": (Event.State.UNDER_WAY, Event.State.OVER),
    "reopened": (Event.State.OVER, Event.State.UNDER_WAY),
}


class AnotherDay(WrongState):
    """Today is none of the event's days. A program that means it says so and asks again."""

    more: Mapping[str, object] = MappingProxyType({"confirm": "another_day"})


@action
def plan_event(
    *,
    by: User,
    club: Club,
    track: Track,
    name: str,
    starts_on: date,
    ends_on: date,
    event_id: UUID | None = None,
) -> Event:
    """An event at a track of the club; classes are added to it."""
    check_can_steward(by, club)
    if not name.strip():
        raise Invalid("name", "Give the event a name.")
    if track.club_id != club.pk:
        raise Invalid("track", f"Choose a track of {club}.")
    if ends_on < starts_on:
        raise Invalid("ends_on", "The event ends on its first day or later.")
    event = Event.objects.create(
        pk=event_id or new_id(),
        club=club,
        track=track,
        name=name.strip(),
        starts_on=starts_on,
        ends_on=ends_on,
    )
    record(by=by, did="planned", on=event, club_id=club.pk)
    return event


@action
def add_event_class(
    *, by: User, event: Event, race_class: RaceClass, event_class_id: UUID | None = None
) -> EventClass:
    """Runs a class at the event, and freezes the published rules that hold on its first day."""
    check_can_run_event(by, event)
    _refuse_over(event)
    if race_class.club_id != event.club_id:
        raise Invalid("race_class", f"Choose a class of {event.club}.")
    if EventClass.objects.filter(event=event, race_class=race_class).exists():
        raise Invalid("race_class", f"{race_class} is run at {event} already.")
    rule_set = rules_on(race_class, event.starts_on)
    if rule_set is None:
        raise WrongState(
            f"{race_class} has no published rules that hold on {day(event.starts_on)}. "
            "Publish them first."
        )
    event_class = EventClass.objects.create(
        pk=event_class_id or new_id(),
        event=event,
        club_id=event.club_id,
        race_class=race_class,
        rule_set=rule_set,
    )
    record(
        by=by,
        did="added",
        on=event_class,
        club_id=event.club_id,
        rule_set=str(rule_set.pk),
        version=rule_set.version,
    )
    return event_class


@action
def remove_event_class(*, by: User, event_class: EventClass) -> None:
    """Takes a class out of an event while nobody has entered it."""
    check_can_run_event(by, event_class.event)
    if event_class.entries.exists():
        raise WrongState("Cars have entered this class. It stays.")
    record(by=by, did="removed", on=event_class, club_id=event_class.club_id)
    event_class.delete()


@action
def start_event(*, by: User, event: Event, another_day: bool = False) -> Event:
    """Opens the desk: cars can be weighed from now on. On a day that is not one of the event's
    only where `another_day` says that this is meant."""
    check_can_run_event(by, event)
    if not event.classes.exists():
        raise WrongState("Add the classes that are run first.")
    if not another_day and (other_day := days.another_day(event)):
        event.refresh_from_db(fields=["state"])
        if event.state == Event.State.PLANNED:
            raise AnotherDay(f"{other_day} It was not started.")
    return _move(by, event, "started")


@action
def end_event(*, by: User, event: Event) -> Event:
    """Closes the desk; officials no longer see the entered cars' ballast pieces."""
    return _move(by, event, "ended")


@action
def reopen_event(*, by: User, event: Event) -> Event:
    """Opens the desk again, for what was forgotten or is protested."""
    return _move(by, event, "reopened")


@action
def publish_findings(*, by: User, event: Event, published: bool = True) -> Event:
    """Lets the club's members see the outcomes by number, without weights; or no longer."""
    check_can_run_event(by, event)
    if published and event.state == Event.State.PLANNED:
        raise WrongState("Nothing has been found yet.")
    event.findings_published = published
    event.save(update_fields=["findings_published"])
    did = "published_findings" if published else "withdrew_findings"
    record(by=by, did=did, on=event, club_id=event.club_id)
    return event


def _move(by: User, event: Event, move: str) -> Event:
    check_can_run_event(by, event)
    before, after = MOVES[move]
    # Another steward may have moved it since this page was drawn.
    moved = Event.objects.filter(pk=event.pk, state=before).update(state=after)
    if not moved:
        event.refresh_from_db(fields=["state"])
        raise WrongState(f"{event} is {event.get_state_display().lower()}.")
    event.state = after
    record(by=by, did=move, on=event, club_id=event.club_id)
    return event


def _refuse_over(event: Event) -> None:
    if event.state == Event.State.OVER:
        raise WrongState(f"{event} is over.")
