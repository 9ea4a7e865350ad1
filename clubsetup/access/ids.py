"""Ids: time-ordered UUIDs (RFC 9562 version 7), made by whoever makes the row."""

from uuid import UUID

import uuid6


def new_id() -> UUID:
    """A new time-ordered id, as a plain UUID."""
    return UUID(int=uuid6.uuid7().int)


def id_or_none(text: object) -> UUID | None:
    """The id that something sent names; None where it names none."""
    try:
        return UUID(str(text))
    except ValueError:
        return None
