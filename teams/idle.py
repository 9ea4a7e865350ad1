"""How long the clubs of an official let a device rest before its person must sign in again."""

from typing import Any

from django.contrib.auth.signals import user_logged_in
from django.db.models import Min
from django.http import HttpRequest

from clubsetup.access.idle_sessions import MINUTES
from clubsetup.access.models import User
from clubsetup.access.viewer import viewing_as
from teams.models import ClubMember, ClubRole


def idle_minutes(user: User) -> int | None:
    """The shortest of the times that the clubs of which they are an official have set."""
    held = ClubMember.objects.filter(user=user, role=ClubRole.OFFICIAL)
    minutes: int | None = held.aggregate(least=Min("club__official_idle_minutes"))["least"]
    return minutes


def _on_sign_in(request: HttpRequest | None, user: User, **_: Any) -> None:
    if request is None:
        return
    # Who signs in is not yet the viewer of this request.
    with viewing_as(user.pk):
        minutes = idle_minutes(user)
    if minutes:
        request.session[MINUTES] = minutes


def connect() -> None:
    """To every sign-in."""
    user_logged_in.connect(_on_sign_in)
