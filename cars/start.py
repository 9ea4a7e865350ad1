"""What cars bring to the start page."""

from cars.baselines.queries.baseline_view import baselines_of
from cars.garage.queries import my_cars
from cars.models import Baseline, Chassis
from clubsetup.access.models import User
from clubsetup.site.start_sections import Section, section
from teams.models import Club
from teams.queries.roles import roles_of


@section(30)
def own_cars(user: User) -> Section | None:
    """The cars of a person's own teams with their latest figures."""
    roles = roles_of(user)
    if not roles.teams:
        return None
    groups = my_cars(user, set(roles.teams))
    named = {"title": "My cars", "anchor": "my-cars", "name_teams": len(groups) > 1}
    return Section("cars/garage/start.html", {"groups": groups, **named})


@section(32)
def coached_cars(user: User) -> Section | None:
    """The cars of the teams that let a coach in."""
    roles = roles_of(user)
    teams = set(roles.coached) - set(roles.teams)
    if not teams:
        return None
    named = {"title": "Cars I coach", "anchor": "coached-cars", "name_teams": True}
    return Section("cars/garage/start.html", {"groups": my_cars(user, teams), **named})


@section(34)
def club_chassis(user: User) -> Section | None:
    """A steward's chassis and the baselines in force or in draft."""
    roles = roles_of(user)
    clubs = Club.objects.filter(pk__in=[c for c in roles.clubs if roles.is_steward(c)])
    if not clubs:
        return None
    current = baselines_of(Chassis.objects.filter(club__in=clubs)).exclude(
        state=Baseline.State.RETIRED
    )
    rows = [(club, [b for b in current if b.club_id == club.pk]) for club in clubs]
    return Section("cars/baselines/start.html", {"rows": rows})


SECTIONS = (own_cars, coached_cars, club_chassis)
