"""What cars bring to the start page."""

from cars.baselines.queries.baseline_view import baselines_of
from cars.garage.presenters.car_blocks import team_blocks
from cars.history.presenters.advice import advice_lines
from cars.history.presenters.school_days import day_title
from cars.history.queries.advice import MOST_ON_A_PAGE, standing_for
from cars.history.queries.board import coached_chassis
from cars.history.queries.school_days import coach_clubs, coming_days
from cars.models import Baseline, Chassis
from clubsetup.access.models import User
from clubsetup.site.start_sections import Section, section
from teams.models import Club
from teams.queries.clocks import today_of
from teams.queries.roles import roles_of

DRAFT = Baseline.State.DRAFT
STYLE = "cars/garage/garage.css"
ADVICE_STYLE = "cars/history/history.css"


@section(18)
def standing_advice(user: User) -> Section | None:
    """What coaches advise the person's own teams, until it is answered or ticked off."""
    teams = roles_of(user).teams
    rows = standing_for(set(teams)) if teams else []
    if not rows:
        return None
    lines = advice_lines(rows[:MOST_ON_A_PAGE], user)
    context = {"lines": lines, "title": "Advice from your coach"}
    return Section("cars/history/start.html", context, style=ADVICE_STYLE)


@section(20)
def own_cars(user: User) -> Section | None:
    """The cars of a person's own teams, each with what is next for it."""
    roles = roles_of(user)
    if not roles.teams:
        return None
    teams = team_blocks(user, set(roles.teams))
    named = {"title": "My cars", "anchor": "my-cars", "name_teams": len(teams) > 1}
    return Section("cars/garage/start.html", {"teams": teams, **named}, style=STYLE)


@section(22)
def coached_cars(user: User) -> Section | None:
    """The cars of the teams that let a coach in."""
    roles = roles_of(user)
    teams = set(roles.coached) - set(roles.teams)
    if not teams:
        return None
    named = {"title": "Cars I coach", "anchor": "coached-cars", "name_teams": True}
    context = {"teams": team_blocks(user, teams), "is_named": True, **named}
    return Section("cars/garage/start.html", context, style=STYLE)


@section(23)
def coached_boards(user: User) -> Section | None:
    """A coach's cars side by side, by chassis."""
    if not roles_of(user).coached:
        return None
    chassis = coached_chassis(user)
    return Section("cars/history/start_boards.html", {"chassis": chassis}) if chassis else None


@section(24)
def school_days(user: User) -> Section | None:
    """School days to come: a coach's own plans, a family's where its cars go out."""
    roles = roles_of(user)
    if not roles.readable_teams:
        return None
    coming = coming_days(user, today_of(user))
    if not coming and not (roles.coached and coach_clubs(user)):
        return None
    context = {"coming": [(row, day_title(row), cars) for row, cars in coming]}
    return Section("cars/history/start_school_days.html", context)


@section(34)
def club_chassis(user: User) -> Section | None:
    """A steward's chassis: the drafts to publish, and the baselines in force."""
    roles = roles_of(user)
    clubs = Club.objects.filter(pk__in=[c for c in roles.clubs if roles.is_steward(c)])
    if not clubs:
        return None
    current = baselines_of(Chassis.objects.filter(club__in=clubs)).exclude(
        state=Baseline.State.RETIRED
    )
    rows = [
        (
            club,
            [each for each in current if each.club_id == club.pk and each.state == DRAFT],
            [each for each in current if each.club_id == club.pk and each.state != DRAFT],
        )
        for club in clubs
    ]
    return Section("cars/baselines/start.html", {"rows": rows})


SECTIONS = (*(standing_advice, own_cars, coached_cars, coached_boards, school_days, club_chassis),)
