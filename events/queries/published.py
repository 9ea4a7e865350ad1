"""What every member of the club may see of an event: the start list, and what is published."""

from typing import NamedTuple
from uuid import UUID

from django.db import connection


class Listed(NamedTuple):
    """One line of the start list."""

    race_class: str
    number: str
    display_name: str


class PublishedFinding(NamedTuple):
    """What one rule said of one entry: the outcome, without weights."""

    race_class: str
    number: str
    display_name: str
    rule_words: str
    outcome: str


def start_list(event_id: UUID) -> list[Listed]:
    """Number and display name of every standing entry, for members of the club."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT * FROM access.start_list(%s)", [event_id])
        return [Listed(*row) for row in cursor.fetchall()]


def published_findings(event_id: UUID) -> list[PublishedFinding]:
    """The standing finding of every rule and entry, once the club publishes them."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT * FROM access.published_findings(%s)", [event_id])
        return [PublishedFinding(*row) for row in cursor.fetchall()]
