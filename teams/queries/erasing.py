"""What is kept of a driver or a person, as it is read before it is erased."""

from typing import NamedTuple

from django.db import connection

from clubsetup.access.models import User
from teams.models import Club, ClubMember, ClubRole, Driver, Team, TeamMember, TeamRole
from teams.queries.roles import roles_of


class KeptOfDriver(NamedTuple):
    """How much of each; see access.held_of_driver."""

    birth_dates: int
    weights: int
    age_answers: int
    entries: int
    sheets: int
    runs: int
    prints: int


def held_of(driver: Driver) -> KeptOfDriver:
    """All nothing for whoever is no chief of the team."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT * FROM access.held_of_driver(%s)", [driver.pk])
        row = cursor.fetchone()
    return KeptOfDriver(*row) if row else KeptOfDriver(0, 0, 0, 0, 0, 0, 0)


def led_alone(user: User) -> list[str]:
    """What a person leads alone, and what to do first; nothing where somebody else leads too."""
    roles = roles_of(user)
    led = [pk for pk in roles.teams if roles.is_chief(pk)]
    others = TeamMember.objects.filter(role=TeamRole.CHIEF, team__in=led).exclude(user=user)
    teams = Team.objects.filter(pk__in=led)
    tended = [pk for pk in roles.clubs if roles.is_steward(pk)]
    stewards = ClubMember.objects.filter(role=ClubRole.STEWARD, club__in=tended).exclude(user=user)
    clubs = Club.objects.filter(pk__in=tended)
    return [
        f"You are the only chief of {team}. Make somebody else chief first: its page invites."
        for team in teams.exclude(pk__in=others.values("team_id"))
    ] + [
        f"You are the only steward of {club}. Invite another one first, on its page."
        for club in clubs.exclude(pk__in=stewards.values("club_id"))
    ]
