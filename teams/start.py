"""What clubs and teams bring to the start page."""

from collections.abc import Iterable

from clubsetup.access.models import User
from clubsetup.site.start_sections import Place, Section, section
from teams.models import Club, Team
from teams.queries.roles import roles_of


@section(60)
def my_teams(user: User) -> Section | None:
    roles = roles_of(user)
    if not roles.teams:
        return None
    teams = Team.objects.filter(pk__in=roles.teams).select_related("club")
    rows = [(team, roles.teams[team.pk]) for team in teams]
    return Section("teams/start_teams.html", {"rows": rows}, _only(teams), place=Place.BESIDE)


@section(62)
def teams_i_coach(user: User) -> Section | None:
    """The teams that let a coach in; a coach whom none has let in reads how it comes about."""
    roles = roles_of(user)
    clubs = [club_id for club_id in roles.clubs if roles.is_coach(club_id)]
    if not clubs:
        return None
    teams = Team.objects.filter(pk__in=roles.coached).select_related("club")
    rows = [(team, roles.coached[team.pk]) for team in teams]
    return Section("teams/start_coach.html", {"rows": rows}, place=Place.BESIDE)


@section(64)
def my_clubs(user: User) -> Section | None:
    """The clubs a person has a role in. To that of their team they come from the team's page."""
    roles = roles_of(user)
    if not roles.clubs:
        return None
    clubs = Club.objects.filter(pk__in=roles.clubs)
    rows = [(club, sorted(roles.clubs[club.pk]), roles.is_steward(club.pk)) for club in clubs]
    return Section("teams/start_clubs.html", {"rows": rows}, _only(clubs), place=Place.BESIDE)


def _only(rows: Iterable[Club] | Iterable[Team]) -> str:
    """The name of the one there is: it heads a page where nothing comes before it."""
    names = [each.name for each in rows]
    return names[0] if len(names) == 1 else ""


SECTIONS = (my_teams, teams_i_coach, my_clubs)
