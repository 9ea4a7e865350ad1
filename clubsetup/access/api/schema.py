"""Tells the schema how callers are known. Imported when the app is ready."""

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


PROBLEM = {
    "type": "object",
    "description": "What went wrong (RFC 9457). `errors` says it of each field.",
    "properties": {
        "type": {"type": "string"},
        "title": {"type": "string"},
        "status": {"type": "integer"},
        "detail": {"type": "string"},
        "errors": {"type": "array", "items": {"type": "object"}},
    },
    "required": ["type", "title", "status", "detail"],
}
REFUSED = "What was asked or sent is refused; nothing is saved."
AWAY = "The database cannot be reached; ask again after the seconds in Retry-After."


def add_problems(result: dict[str, Any], **_: Any) -> dict[str, Any]:
    """Says of every operation how it refuses: one document, whatever the reason."""
    result.setdefault("components", {}).setdefault("schemas", {})["Problem"] = PROBLEM
    content = {"application/problem+json": {"schema": {"$ref": "#/components/schemas/Problem"}}}
    for methods in result["paths"].values():
        for operation in methods.values():
            answers = operation["responses"]
            for code, answer in answers.items():
                if code.startswith("4"):
                    answer.setdefault("content", content)
            answers.setdefault("4XX", {"description": REFUSED, "content": content})
            answers.setdefault("503", {"description": AWAY, "content": content})
    return result


def add_summaries(result: dict[str, Any], **_: Any) -> dict[str, Any]:
    """Says beside each address what it does: the first sentence of what is written of it."""
    for methods in result["paths"].values():
        for operation in methods.values():
            first = " ".join(operation.get("description", "").split()).partition(". ")[0]
            if first:
                operation.setdefault("summary", first.rstrip("."))
    return result
