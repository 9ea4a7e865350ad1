"""What every member of the club may see of an event: the start list, and what is published."""

from itertools import takewhile
from typing import NamedTuple
from uuid import UUID

from django.db import connection


class PublishedEntry(NamedTuple):
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


def counted(number: str) -> tuple[int, str]:
    """A car's number in the order people count: 4, 12, 12a, 31."""
    digits = "".join(takewhile(str.isdigit, number))
    return int(digits or 0), number


def start_list(event_id: UUID) -> list[PublishedEntry]:
    """Number and display name of every standing entry, for members of the club."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT * FROM access.start_list(%s)", [event_id])
        listed = [PublishedEntry(*row) for row in cursor.fetchall()]
    return sorted(listed, key=lambda one: (one.race_class, *counted(one.number)))


def published_findings(event_id: UUID) -> list[PublishedFinding]:
    """The standing finding of every rule and entry, once the club publishes them."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT * FROM access.published_findings(%s)", [event_id])
        findings = [PublishedFinding(*row) for row in cursor.fetchall()]
    # Stable: within an entry the rules keep their order.
    return sorted(findings, key=lambda one: (one.race_class, *counted(one.number)))
