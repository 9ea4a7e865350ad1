"""Small answers for the pages of events."""

from clubsetup.access.models import User
from events.models import Event
from teams.models import Club, Team
from teams.queries.roles import roles_of


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
