"""Invitations: the link, and what its holder meets."""

from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST

from clubsetup.access.account_adapter import INVITED
from clubsetup.access.models import User
from clubsetup.site.pages import person
from teams.actions.invitations import accept_invitation
from teams.models import Invitation
from teams.queries.invitations import show_invitation


def invitation_made(request: HttpRequest, invitation: Invitation, secret: str) -> HttpResponse:
    """The page that shows a new invitation's link, this once."""
    link = request.build_absolute_uri(reverse("join", args=[secret]))
    return render(request, "teams/invitation_made.html", {"invitation": invitation, "link": link})


@never_cache
def join(request: HttpRequest, secret: str) -> HttpResponse:
    """What an invitation is for. Signed out it leads to signing up or in, and back here."""
    invitation = show_invitation(secret)
    if invitation is None:
        request.session.pop(INVITED, None)
        return render(request, "teams/join_closed.html", status=410)
    context = {"invitation": invitation, "secret": secret, "here": request.path}
    if isinstance(request.user, User):
        return render(request, "teams/join.html", context)
    request.session[INVITED] = invitation.digest
    return render(request, "teams/join_signed_out.html", context)


@login_required
@require_POST
def join_accept(request: HttpRequest, secret: str) -> HttpResponse:
    """Takes the invitation up."""
    invitation = accept_invitation(by=person(request), secret=secret)
    request.session.pop(INVITED, None)
    if invitation.team_id:
        return redirect("team", invitation.team_id)
    return redirect("club", invitation.club_id)
