"""Teams, their members and their coaches."""

from uuid import UUID

from clubsetup.access.actions import action, record
from clubsetup.access.errors import Invalid, WrongState
from clubsetup.access.ids import new_id
from clubsetup.access.models import User
from teams.models import Club, ClubMember, ClubRole, CoachLink, Team, TeamMember, TeamRole
from teams.permissions import check_can_lead, check_can_steward, check_can_unlink
from teams.queries.roles import forget_roles


@action
def make_team(*, by: User, club: Club, name: str, team_id: UUID | None = None) -> Team:
    """A steward makes a team; its first chief comes by invitation."""
    check_can_steward(by, club)
    name = name.strip()
    if not name:
        raise Invalid("name", "Give the team a name.")
    if Team.objects.filter(club=club, name=name).exists():
        raise Invalid("name", f"{club} has a team {name} already.")
    team = Team.objects.create(pk=team_id or new_id(), club=club, name=name)
    record(by=by, did="made", on=team, club_id=club.pk)
    return team


@action
def set_team_role(*, by: User, member: TeamMember, role: str) -> TeamMember:
    """A chief changes what a member is to the team; the last chief stays chief."""
    check_can_lead(by, member.team)
    if role not in TeamRole.values:
        raise Invalid("role", "Choose chief, crew or guest.")
    _keep_a_chief(member, leaving=role != TeamRole.CHIEF)
    member.role = role
    member.save(update_fields=["role"])
    forget_roles(by)
    who = str(member.user_id)
    record(by=by, did="set_role", on=member, team_id=member.team_id, role=role, who=who)
    return member


@action
def remove_team_member(*, by: User, member: TeamMember) -> None:
    """A chief removes a member, or a member leaves; the last chief stays."""
    if member.user_id != by.pk:
        check_can_lead(by, member.team)
    _keep_a_chief(member, leaving=True)
    role, who = member.role, str(member.user_id)
    record(by=by, did="removed", on=member, team_id=member.team_id, role=role, who=who)
    member.delete()
    forget_roles(by)


def _keep_a_chief(member: TeamMember, *, leaving: bool) -> None:
    if not leaving or member.role != TeamRole.CHIEF:
        return
    # Locked, so that two chiefs who leave at once cannot both find the other one staying.
    Team.objects.select_for_update(of=["self"]).get(pk=member.team_id)
    others = TeamMember.objects.filter(team=member.team, role=TeamRole.CHIEF).exclude(pk=member.pk)
    if not others.exists():
        raise WrongState(f"{member.team} would be without a chief. Make somebody else chief first.")


@action
def link_coach(
    *,
    by: User,
    team: Team,
    coach: User,
    may_write: bool = False,
    may_see_codes: bool = False,
    link_id: UUID | None = None,
) -> CoachLink:
    """A chief lets a coach of the club see the team's cars; again, it sets what else they may."""
    check_can_lead(by, team)
    if not ClubMember.objects.filter(
        club_id=team.club_id, user=coach, role=ClubRole.COACH
    ).exists():
        raise Invalid("coach", f"{coach} is not a coach of {team.club}.")
    allowed = {"may_write": may_write, "may_see_codes": may_see_codes}
    link, _ = CoachLink.objects.update_or_create(
        team=team,
        coach=coach,
        defaults=allowed,
        create_defaults={"id": link_id or new_id(), "club_id": team.club_id, **allowed},
    )
    record(
        by=by,
        did="linked",
        on=link,
        team_id=team.pk,
        coach=str(coach.pk),
        may_write=may_write,
        may_see_codes=may_see_codes,
    )
    return link


@action
def unlink_coach(*, by: User, link: CoachLink) -> None:
    """A chief or the coach ends a link; from then on the coach sees nothing of the team."""
    check_can_unlink(by, link)
    record(by=by, did="unlinked", on=link, team_id=link.team_id, coach=str(link.coach_id))
    link.delete()
