"""Tells the schema how callers are known. Imported by the views, which the URLs import."""

from typing import Any

from django.conf import settings
from drf_spectacular.extensions import OpenApiAuthenticationExtension


class TokenInSchema(OpenApiAuthenticationExtension):  # type: ignore[no-untyped-call]
    """A personal token."""

    target_class = "clubsetup.access.api.authentication.TokenAuthentication"
    name = "token"

    def get_security_definition(self, _: Any) -> dict[str, str]:
        """`Authorization: Bearer <token>`."""
        return {"type": "http", "scheme": "bearer"}


class SessionInSchema(OpenApiAuthenticationExtension):  # type: ignore[no-untyped-call]
    """The session of the pages."""

    target_class = "clubsetup.access.api.authentication.SessionAuthentication"
    name = "session"

    def get_security_definition(self, _: Any) -> dict[str, str]:
        """The session's cookie; writing needs the CSRF token in X-CSRFToken too."""
        return {"type": "apiKey", "in": "cookie", "name": settings.SESSION_COOKIE_NAME}
