"""Sessions in the database, each reached by its whole key.

The restricted role has no rights on their table: it cannot list sessions, and what it keeps under
a key of its own choice opens nothing, because a session's content is signed. The table has the
key's hash only, so neither it nor the statement that asks for it is worth a cookie.
"""

from datetime import datetime
from typing import Any

from django.contrib.sessions.backends import db
from django.contrib.sessions.backends.base import CreateError, UpdateError
from django.db import connection
from django.utils import timezone

from clubsetup.access.digests import digest


def kept_as(session_key: str) -> str:
    """Under what the table has it: 160 bits of SHA-256, as wide as its column."""
    return digest(session_key)[:40]


class SessionStore(db.SessionStore):
    """Django's, through functions that take the key."""

    def _get_session_from_db(self) -> Any:
        rows = self.model.objects.raw(
            "SELECT * FROM access.session(%s, %s)",
            [kept_as(self.session_key or ""), timezone.now()],
        )
        for session in rows:
            return session
        self._session_key = None
        return None

    def exists(self, session_key: str) -> bool:
        """Whether there is one under this key."""
        return bool(_answer("has_session", kept_as(session_key)))

    def save(self, must_create: bool = False) -> None:
        """Keeps it; raises CreateError for a key that is taken, UpdateError for one that ended."""
        if self.session_key is None:
            return self.create()
        content = self._get_session(no_load=must_create)  # type: ignore[attr-defined]
        session = self.create_model_instance(content)
        given = (kept_as(session.session_key), session.session_data, session.expire_date)
        if not _answer("add_session" if must_create else "keep_session", *given):
            raise CreateError if must_create else UpdateError
        return None

    def delete(self, session_key: str | None = None) -> None:
        if key := session_key or self.session_key:
            _answer("end_session", kept_as(key))

    @classmethod
    def clear_expired(cls) -> None:
        """Forgets those whose time is over."""
        _answer("forget_expired_sessions")


def _answer(name: str, *given: str | datetime) -> Any:
    places = ", ".join(["%s"] * len(given))
    with connection.cursor() as cursor:
        cursor.execute(f"SELECT access.{name}({places})", given)  # our own names
        row = cursor.fetchone()
    return row[0] if row else None
