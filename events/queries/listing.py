"""Small answers for the pages of events."""

from django.db.models import Q, QuerySet
from django.utils import timezone

from clubsetup.access.models import User
from events.models import Event
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
