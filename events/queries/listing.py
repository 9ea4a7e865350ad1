"""Small answers for the pages of events."""

from collections.abc import Collection
from uuid import UUID

from django.db.models import Q, QuerySet
from django.utils import timezone

from clubsetup.access.models import User
from events.models import Entry, Event
from teams.models import Club, Team
from teams.queries.roles import roles_of


def events_of(user: User) -> QuerySet[Event]:
    """The events of a person's clubs, the latest first."""
    events = Event.objects.of_clubs(roles_of(user).member_clubs).order_by("-starts_on", "-id")
    return events.select_related("club", "track")


AHEAD = 8


def events_ahead(user: User) -> list[Event]:
    """The events of a person's clubs that are under way or still to come, the first one first.

    Kept on the user object for the rest of the request: several parts of a page ask.
    """
    known: list[Event] | None = getattr(user, "_events_ahead", None)
    if known is None:
        to_come = Q(state=Event.State.PLANNED, ends_on__gte=timezone.localdate())
        ahead = events_of(user).filter(Q(state=Event.State.UNDER_WAY) | to_come)
        known = list(ahead.order_by("-state", "starts_on", "id")[:AHEAD])
        user._events_ahead = known  # type: ignore[attr-defined]
    return known


def entries_ahead(user: User, cars: Collection[UUID]) -> list[Entry]:
    """The entries of these cars in what is not over, what comes first last.

    Kept on the user object as well: what is next for a car is asked of several.
    """
    known: dict[UUID, list[Entry]] = user.__dict__.setdefault("_entries_ahead", {})
    if missing := [car for car in cars if car not in known]:
        known |= {car: [] for car in missing}
        found = (
            Entry.objects.current()
            .filter(car__in=missing)
            .exclude(event__state=Event.State.OVER)
            .select_related("event", "event_class__race_class", "team")
        )
        for entry in found.order_by("-event__starts_on"):
            known[entry.car_id].append(entry)
    every = [entry for car in cars for entry in known[car]]
    return sorted(every, key=lambda entry: entry.event.starts_on, reverse=True)


def stewarded_clubs(user: User) -> list[Club]:
    roles = roles_of(user)
    return list(Club.objects.filter(pk__in=[c for c in roles.clubs if roles.is_steward(c)]))


def tended_clubs(user: User) -> list[Club]:
    """The clubs at whose events a person weighs and inspects."""
    roles = roles_of(user)
    return list(Club.objects.filter(pk__in=[c for c in roles.clubs if roles.is_official(c)]))


def teams_to_enter(user: User, event: Event) -> list[Team]:
    """The teams for which a person may enter cars in the event."""
    roles = roles_of(user)
    if event.state == Event.State.OVER:
        return []
    teams = Team.objects.filter(pk__in=[t for t in roles.teams if roles.is_crew(t)])
    member = event.club_id in roles.clubs
    return [team for team in teams if member or team.club_id == event.club_id]
