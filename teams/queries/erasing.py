"""What is kept of a driver or a person, as it is read before it is erased."""

from typing import NamedTuple

from django.db import connection

from clubsetup.access.models import User
from clubsetup.site.counting import counted
from teams.models import Club, ClubMember, ClubRole, Driver, Team, TeamMember, TeamRole
from teams.queries.roles import roles_of

ACCOUNT_GOES = (
    "Your name, your e-mail addresses and your password.",
    "Your passkeys, one-time codes and recovery codes, and every sign-in on every device.",
    "Your tokens for the API, and links with which you invited somebody and nobody came yet.",
    "Your places in clubs and teams, and what teams let you see as their coach.",
    "Your stored prints, and your own trail: when you signed in, and what you set.",
)
ACCOUNT_STAYS = (
    "What you did in a team or for a club: sheets, remarks, records, lines in their trails. They "
    "are the team's and the club's. 'Erased person' stands there in place of your name.",
    "What a team keeps, its drivers too: a chief erases a driver on the driver's page, before.",
    "What is on paper, and in files that somebody took away.",
)


class Held(NamedTuple):
    """How much of each; see access.held_of_driver."""

    birth_dates: int
    weights: int
    age_answers: int
    entries: int
    sheets: int
    prints: int


def held_of(driver: Driver) -> Held:
    """All nothing for whoever is no chief of the team."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT * FROM access.held_of_driver(%s)", [driver.pk])
        row = cursor.fetchone()
    return Held(*row) if row else Held(0, 0, 0, 0, 0, 0)


def what_goes(driver: Driver, held: Held) -> list[str]:
    """In sentences: what is erased for good."""
    name = driver.display_name
    return [
        f"The driver {name} in your team"
        + (", with the birth date" if held.birth_dates else "")
        + (f" and {_count(held.weights, 'line')} of the weight log" if held.weights else "")
        + ".",
        f"What officials were told of the age: {_count(held.age_answers, 'answer')}.",
        f"Who drove, on {_count(held.sheets, 'sheet')}: their figures stay, for the car.",
        f"The name {name} wherever your team wrote it in notes, remarks, reasons and names of "
        "cars: 'the driver' stands there instead, on closed sheets and in the trail too.",
        f"Stored prints that may show any of this: {_count(held.prints, 'print')}, whoever asked "
        "for them.",
    ]


def what_stays(driver: Driver, held: Held) -> list[str]:
    """In sentences: what stays, and why."""
    return [
        f"Official records: {_count(held.entries, 'entry', 'entries')} with number and the display "
        "name on them, and what officials weighed, looked at and found. They are the club's, and "
        "results rest on them.",
        "What is painted on ballast is its label here: change or retire a piece whose label says "
        f"{driver.display_name}.",
        "What is on paper, and in files that somebody took away.",
        "A line in your team's trail: that you erased a driver, and when; without the name.",
    ]


def led_alone(user: User) -> list[str]:
    """What a person leads alone, and what to do first; nothing where somebody else leads too."""
    roles = roles_of(user)
    others = TeamMember.objects.filter(role=TeamRole.CHIEF).exclude(user=user)
    teams = Team.objects.filter(pk__in=[pk for pk in roles.teams if roles.is_chief(pk)])
    stewards = ClubMember.objects.filter(role=ClubRole.STEWARD).exclude(user=user)
    clubs = Club.objects.filter(pk__in=[pk for pk in roles.clubs if roles.is_steward(pk)])
    return [
        f"You are the only chief of {team}. Make somebody else chief first: its page invites."
        for team in teams.exclude(pk__in=others.values("team_id"))
    ] + [
        f"You are the only steward of {club}. Invite another one first, on its page."
        for club in clubs.exclude(pk__in=stewards.values("club_id"))
    ]


def _count(number: int, one: str, more: str = "") -> str:
    if number != 1 and more:
        return f"{number or 'no'} {more}"
    return counted(number, one) if number else f"no {one}s"
