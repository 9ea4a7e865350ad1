"""People where nobody is looking yet: the person of a session, and that they signed in."""

from typing import Any
from uuid import UUID

from allauth.account.auth_backends import AuthenticationBackend
from django.contrib.auth.signals import user_logged_in
from django.db import connection
from django.http import HttpRequest
from django.utils import timezone

from clubsetup.access import signing
from clubsetup.access.models import User


def account(user_id: UUID | str) -> User | None:
    """All that is kept of one person, for the sign-in code."""
    given = signing.signed(signing.ACCOUNT, str(user_id))
    return next(iter(User.objects.raw("SELECT * FROM access.account(%s)", [given])), None)


class SignInBackend(AuthenticationBackend):  # type: ignore[misc]
    """allauth's, which reads a session's person through the one function that tells of them."""

    def get_user(self, user_id: UUID) -> User | None:
        """The person, where their account is not closed."""
        user = account(user_id)
        return user if user is not None and self.user_can_authenticate(user) else None


def note_sign_in(user: User, **_: Any) -> None:
    """When they signed in last; the sessions' way into the table, not the viewer's."""
    user.last_login = timezone.now()
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT access.note_sign_in(%s, %s)",
            [signing.signed(signing.ACCOUNT, str(user.pk)), user.last_login],
        )


def half_signed_in(request: HttpRequest) -> UUID | None:
    """Who has given the password and not yet the second factor, by their session."""
    login = request.session.get("account_login")
    try:
        return UUID(login["user_pk"]) if isinstance(login, dict) else None
    except (KeyError, TypeError, ValueError):
        return None


def connect() -> None:
    """In the place of the framework's own receiver, which writes as nobody."""
    user_logged_in.connect(note_sign_in, dispatch_uid="update_last_login")
