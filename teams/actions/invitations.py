"""Invitations: a link that lets whoever holds it join, once."""

import secrets
from datetime import timedelta
from uuid import UUID

from django.utils import timezone

from clubsetup.access.actions import action, record
from clubsetup.access.errors import Invalid, WrongState
from clubsetup.access.ids import new_id
from clubsetup.access.limits import count_against_limit
from clubsetup.access.models import User
from teams.models import Club, ClubMember, ClubRole, Invitation, Team, TeamMember, TeamRole
from teams.permissions import check_can_invite, check_can_withdraw
from teams.queries.invitations import show_invitation
from teams.queries.roles import forget_roles

HOLDS_FOR = timedelta(days=14)


@action
def invite(
    *,
    by: User,
    club: Club,
    team: Team | None = None,
    role: str,
    note: str = "",
    invitation_id: UUID | None = None,
) -> tuple[Invitation, str]:
    """Makes an invitation; the secret of its link is returned once and kept nowhere."""
    check_can_invite(by, club, team)
    count_against_limit(by, "invitations")
    roles = TeamRole.values if team else ClubRole.values
    if role not in roles:
        raise Invalid("role", f"Choose one of: {', '.join(roles)}.")
    secret = secrets.token_urlsafe(32)
    invitation = Invitation.objects.create(
        pk=invitation_id or new_id(),
        club=club,
        team=team,
        role=role,
        note=note,
        digest=Invitation.digest_of(secret),
        invited_by=by,
        expires_at=timezone.now() + HOLDS_FOR,
    )
    record(
        by=by,
        did="invited",
        on=invitation,
        club_id=club.pk,
        team_id=team.pk if team else None,
        role=role,
    )
    return invitation, secret


@action
def accept_invitation(*, by: User, secret: str) -> Invitation:
    """Joins the club or team and uses the link up. A member already stays what they are."""
    invitation = show_invitation(secret, hold=True)
    if invitation is None:
        raise WrongState("This invitation was used, withdrawn or is too old. Ask for a new one.")
    if invitation.team_id:
        if TeamMember.objects.filter(team_id=invitation.team_id, user=by).exists():
            raise WrongState(f"You are in {invitation.team} already.")
        TeamMember.objects.create(
            team_id=invitation.team_id, club_id=invitation.club_id, user=by, role=invitation.role
        )
    else:
        if ClubMember.objects.filter(
            club_id=invitation.club_id, user=by, role=invitation.role
        ).exists():
            raise WrongState(f"You have that role in {invitation.club} already.")
        ClubMember.objects.create(club_id=invitation.club_id, user=by, role=invitation.role)
    invitation.accepted_at, invitation.accepted_by = timezone.now(), by
    invitation.save(update_fields=["accepted_at", "accepted_by"])
    forget_roles(by)
    _say_if_alone(by, invitation)
    record(
        by=by,
        did="accepted",
        on=invitation,
        club_id=invitation.club_id,
        team_id=invitation.team_id,
        role=invitation.role,
    )
    return invitation


def _say_if_alone(by: User, invitation: Invitation) -> None:
    """A club's only steward who becomes its official answers to nobody there: the trail says so."""
    if invitation.team_id or invitation.role != ClubRole.OFFICIAL:
        return
    stewards = ClubMember.objects.filter(club_id=invitation.club_id, role=ClubRole.STEWARD)
    if list(stewards.values_list("user_id", flat=True)) == [by.pk]:
        own = ClubMember.objects.get(club_id=invitation.club_id, user=by, role=invitation.role)
        record(by=by, did="became_official_alone", on=own, club_id=invitation.club_id)


@action
def withdraw_invitation(*, by: User, invitation: Invitation) -> Invitation:
    """Makes a link worthless."""
    check_can_withdraw(by, invitation)
    if invitation.accepted_at:
        raise WrongState("This invitation has been taken up already.")
    if invitation.withdrawn_at:
        raise WrongState("This invitation was withdrawn before.")
    invitation.withdrawn_at = timezone.now()
    invitation.save(update_fields=["withdrawn_at"])
    record(
        by=by, did="withdrew", on=invitation, club_id=invitation.club_id, team_id=invitation.team_id
    )
    return invitation
