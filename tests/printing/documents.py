"""A small document of the tests' own: a team's name on a page, with who is looking."""

from django.utils.html import format_html

from clubsetup.access.models import User
from clubsetup.printing.registry import Document
from teams.models import Team, TeamMember


def _html(team: Team, viewer: User) -> str:
    return format_html(
        '<html lang="en"><title>{}</title><h1>{}</h1><p>For {}. Members seen: {}.</p></html>',
        team.name,
        team.name,
        viewer.name,
        TeamMember.objects.filter(team=team).count(),
    )


def _broken(team: Team, viewer: User) -> str:
    raise ZeroDivisionError("this document cannot be built")


TEAM_CARD = Document(
    key="test-team-card",
    name="Team card",
    model=Team,
    title=lambda team: f"Team card {team.name}",
    html=_html,
    clock=lambda team: team.club.zone(),
)
BROKEN = Document(
    key="test-broken",
    name="Broken",
    model=Team,
    title=lambda team: "Broken",
    html=_broken,
    clock=lambda team: team.club.zone(),
)
DOCUMENTS = (TEAM_CARD, BROKEN)
