"""Who may do what in a club and a team.

Each raises NotAllowed with the reason; `may` asks as a bool.
"""

from clubsetup.access.errors import NotAllowed
from clubsetup.access.models import User
from teams.models import Club, CoachLink, Invitation, Team
from teams.queries.roles import roles_of, team_has_chief


def _refuse_resting(user: User, club: Club) -> None:
    if club.pk in roles_of(user).resting:
        raise NotAllowed(
            f"{club} asks its stewards and officials for a second factor. Set one up under “Me”, "
            "“Passkeys and one-time codes”; until then these roles of yours rest."
        )


def check_can_steward(user: User, club: Club) -> None:
    """Write what the club keeps: members, tracks, classes, chassis, baselines, events."""
    _refuse_resting(user, club)
    if not roles_of(user).is_steward(club.pk):
        raise NotAllowed(f"Only a steward of {club} may do this.")


def check_can_officiate(user: User, club: Club) -> None:
    """Weigh, inspect and find at the club's events."""
    _refuse_resting(user, club)
    if not roles_of(user).is_official(club.pk):
        raise NotAllowed(f"Only an official of {club} may do this.")


def check_can_lead(user: User, team: Team) -> None:
    """Invite and remove members, link coaches."""
    if not roles_of(user).is_chief(team.pk):
        raise NotAllowed(f"Only a chief of {team} may do this.")


def check_can_unlink(user: User, link: CoachLink) -> None:
    """End a coach's link: the team's chiefs, and the coach."""
    if link.coach_id != user.pk:
        check_can_lead(user, link.team)


def check_can_crew(user: User, team: Team) -> None:
    """Write what the team keeps: cars, drivers, parts, ballast pieces, entries."""
    if not roles_of(user).is_crew(team.pk):
        raise NotAllowed(f"Only the crew of {team} may do this.")


def check_can_write_sheets(user: User, team: Team) -> None:
    """Open and close sheets, take readings, note changes."""
    if not roles_of(user).may_write_sheets(team.pk):
        raise NotAllowed(f"Only the crew of {team}, or a coach it lets write, may do this.")


def check_can_comment(user: User, team: Team) -> None:
    """Comment on a sheet."""
    if not roles_of(user).may_comment(team.pk):
        raise NotAllowed(f"Only the crew of {team} or its coach may comment.")


def check_can_invite(user: User, club: Club, team: Team | None) -> None:
    """Invite to a club (its stewards), to a team (its chiefs), or its first chief (stewards)."""
    if team is None:
        check_can_steward(user, club)
    elif not roles_of(user).is_chief(team.pk):
        check_can_steward(user, club)
        if team_has_chief(team.pk):
            raise NotAllowed(f"{team} has a chief, who invites its members.")


def check_can_withdraw(user: User, invitation: Invitation) -> None:
    """End an open invitation: the team's chiefs and the club's stewards, whoever made it."""
    roles = roles_of(user)
    if not (roles.is_steward(invitation.club_id) or roles.is_chief(invitation.team_id)):
        raise NotAllowed("Only who may invite may withdraw an invitation.")


def check_can_see_weights(user: User, team: Team) -> None:
    """Read the drivers' weight logs: the crew and the team's coaches, not guests."""
    if not roles_of(user).may_comment(team.pk):
        raise NotAllowed(f"Only the crew of {team} or its coach may see weights.")
