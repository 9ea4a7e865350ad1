"""Who is in a club and a team, as their pages show them."""

from collections.abc import Iterable
from uuid import UUID

from django.db.models import BooleanField, Case, Exists, OuterRef, QuerySet, Value, When
from django.db.models.functions import Lower

from clubsetup.access.models import User
from teams.models import (
    Club,
    ClubMember,
    ClubRole,
    CoachLink,
    Invitation,
    Team,
    TeamMember,
    TeamRole,
)
from teams.queries.roles import roles_of


def club_members(club: Club) -> QuerySet[ClubMember]:
    """Stewards first, then officials, then coaches, each by name."""
    order = Case(*(When(role=r, then=Value(i)) for i, r in enumerate(ClubRole.values)))
    return club.members.select_related("user").order_by(order, Lower("user__name"), "pk")


def team_members(team: Team) -> QuerySet[TeamMember]:
    """Chiefs first, then crew, then guests, each by name."""
    order = Case(*(When(role=r, then=Value(i)) for i, r in enumerate(TeamRole.values)))
    return team.members.select_related("user").order_by(order, Lower("user__name"), "pk")


def coach_links(team: Team) -> QuerySet[CoachLink]:
    """The team's coaches by name; `is_coach` is false for who is a coach of the club no more."""
    holds = ClubMember.objects.filter(
        club_id=OuterRef("club_id"), user_id=OuterRef("coach_id"), role=ClubRole.COACH
    )
    return (
        team.coach_links.select_related("coach")
        .annotate(is_coach=Exists(holds, output_field=BooleanField()))
        .order_by(Lower("coach__name"), "pk")
    )


def people_of(club: Club) -> QuerySet[User]:
    """Everybody who is in the club or its teams, or was, by name."""
    # By their ids first: asked of each person, everybody in all clubs would be looked through.
    ever = (
        ClubMember.objects.filter(club=club)
        .values("user_id")
        .union(
            TeamMember.objects.filter(club=club).values("user_id"),
            Invitation.objects.filter(club=club, accepted_by__isnull=False).values(
                "accepted_by_id"
            ),
        )
    )
    return User.objects.filter(pk__in=ever).only("id", "name").order_by(Lower("name"), "pk")


def still_in(club: Club, people: Iterable[User]) -> set[UUID]:
    """Who of these people is in the club or one of its teams now: two queries."""
    ids = [person.pk for person in people]
    return {
        *ClubMember.objects.filter(club=club, user_id__in=ids).values_list("user_id", flat=True),
        *TeamMember.objects.filter(club=club, user_id__in=ids).values_list("user_id", flat=True),
    }


def coaches_to_link(team: Team) -> QuerySet[User]:
    """Coaches of the team's club that are not linked with it yet."""
    return User.objects.filter(
        club_roles__club_id=team.club_id, club_roles__role=ClubRole.COACH, is_active=True
    ).exclude(pk__in=CoachLink.objects.filter(team=team).values("coach_id"))


def club_teams(user: User, club: Club) -> QuerySet[Team]:
    """The club's teams by name; `led` says whether a team has a chief, where the viewer may see."""
    teams: QuerySet[Team] = club.teams.all()
    if roles_of(user).is_steward(club.pk):
        chiefs = TeamMember.objects.filter(team_id=OuterRef("pk"), role=TeamRole.CHIEF)
        teams = teams.annotate(led=Exists(chiefs))
    return teams
