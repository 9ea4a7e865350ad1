"""How a day and a time are written, everywhere: '5 Nov 2026', '5 Nov 2026 19:04:31 CST'.

A time is written in the zone it carries; whoever calls has moved it to the reader's.
"""

from datetime import date, datetime

MONTHS = ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"]

# How a browser's own input for a time sends it.
BROWSER_TIME = "%H:%M"


def day(when: date) -> str:
    """'5 Nov 2026'."""
    return f"{short_day(when)} {when.year}"


def short_day(when: date) -> str:
    """'5 Nov', where the year is plain from what stands beside it."""
    return f"{when.day} {MONTHS[when.month - 1]}"


def month(when: date) -> str:
    """'Nov 2026'."""
    return f"{MONTHS[when.month - 1]} {when.year}"


def minute(when: datetime) -> str:
    """'5 Nov 2026 19:04'."""
    return f"{day(when)} {when:%H:%M}"


def clock(when: datetime) -> str:
    """'19:04 CST', of a time that is not a day old."""
    return f"{when:%H:%M} {abbreviation(when)}"


def stamp(when: datetime) -> str:
    """'5 Nov 2026 19:04:31 CST': a time that something official hangs on."""
    return f"{_second(when)} {abbreviation(when)}"


def second_in_zone_of(when: datetime, named: datetime) -> str:
    """'5 Nov 2026 19:04:31' under a heading that names the zone as it was at `named`.

    Where the clocks were changed in between, the time names its own: on the night they go back
    the same hour comes twice.
    """
    own = abbreviation(when)
    return _second(when) if own == abbreviation(named) else f"{_second(when)} {own}"


def abbreviation(when: datetime) -> str:
    """'CST'; 'UTC-03' where a zone's clocks have no name. Empty for a time without a zone."""
    name = when.tzname() or ""
    return f"UTC{name}" if name[:1] in ("+", "-") else name


def _second(when: datetime) -> str:
    return f"{day(when)} {when:%H:%M:%S}"
