"""Who calls the API: a browser's session or a personal token. Both make them the viewer."""

from uuid import UUID

from django.db import connection
from django.http import HttpRequest
from rest_framework import authentication, exceptions
from rest_framework.request import Request

from clubsetup.access.models import ApiToken, User
from clubsetup.access.viewer import set_viewer


class SessionAuthentication(authentication.SessionAuthentication):
    """The session of the pages, with its CSRF check; the middleware has set the viewer."""

    def authenticate_header(self, request: Request) -> str:
        """Answers 401, not 403, to a caller who is not signed in."""
        return "Session"


class TokenAuthentication(authentication.BaseAuthentication):
    """`Authorization: Bearer <token>`."""

    def authenticate(self, request: Request) -> tuple[User, ApiToken] | None:
        """The token's person, or None where no token was sent."""
        scheme, _, secret = request.headers.get("Authorization", "").partition(" ")
        if scheme.lower() != "bearer":
            return None
        owner_id = self._owner_of(secret.strip())
        # People read their own account and no other.
        set_viewer(owner_id)
        user = User.objects.filter(pk=owner_id, is_active=True).first() if owner_id else None
        if user is None:
            set_viewer(None)
            raise exceptions.AuthenticationFailed("This token is unknown, ended or expired.")
        return user, ApiToken.objects.get(digest=ApiToken.digest_of(secret.strip()))

    def _owner_of(self, secret: str) -> UUID | None:
        # Before the viewer is known no row is visible; this function answers for one digest only.
        with connection.cursor() as cursor:
            cursor.execute("SELECT access.token_owner(%s)", [ApiToken.digest_of(secret)])
            row = cursor.fetchone()
        return row[0] if row else None

    def authenticate_header(self, request: HttpRequest | Request) -> str:
        """The challenge of a 401."""
        return "Bearer"
