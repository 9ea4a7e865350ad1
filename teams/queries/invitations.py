"""Invitations as their holder, and those who may invite, see them."""

from django.db.models import QuerySet
from django.utils import timezone

from clubsetup.access.viewer import INVITATION, invitation_opens, set_local
from teams.models import Club, Invitation, Team


def show_invitation(secret: str, *, hold: bool = False) -> Invitation | None:
    """The open invitation behind a link's secret; from here to the end of the transaction the
    holder may see it and take it up. The database says whether it is open.

    `hold` keeps it for this transaction: of two who take one up at once, the second waits here
    and then finds it used.
    """
    digest = Invitation.digest_of(secret)
    set_local(INVITATION, digest)
    if hold:
        Invitation.objects.select_for_update().filter(digest=digest).first()
    if not invitation_opens():
        return None
    return Invitation.objects.select_related("club", "team", "invited_by").get(digest=digest)


def open_invitations(club: Club, team: Team | None = None) -> QuerySet[Invitation]:
    """Links that would still let somebody in, newest first: the club's own, or a team's."""
    return Invitation.objects.filter(
        club=club,
        team=team,
        accepted_at__isnull=True,
        withdrawn_at__isnull=True,
        expires_at__gt=timezone.now(),
    ).select_related("invited_by")
