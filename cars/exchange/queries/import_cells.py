"""Single cells of an imported table: dates, times, names. Nothing is guessed.

Raises ValueError with the sentence for the person whose file it is.
"""

import re
from collections.abc import Iterable, Sequence
from datetime import date, datetime, time, timedelta
from typing import Any

from clubsetup.clock.writing import day
from clubsetup.quantities.errors import quoted

FIRST_YEAR = 1990
_ISO = re.compile(r"(\d{4})-(\d{1,2})-(\d{1,2})(?:[T ]+(?P<clock>\d{1,2}:\d{2}(?::\d{2})?).*)?")
_DOTTED = re.compile(r"(\d{1,2})\.(\d{1,2})\.(\d{4}|\d{2})")
_SLASHED = re.compile(r"(\d{1,2})[/-](\d{1,2})[/-](\d{4}|\d{2})")
_CLOCK = re.compile(r"(\d{1,2}):(\d{2})(?::(\d{2})(?:\.\d+)?)?\s*([ap]\.?m\.?)?", re.IGNORECASE)
_SERIAL = re.compile(r"[2-7]\d{4}(\.\d+)?")
WRITE_DATE = "Write it as 2026-03-14."


def slashes_are(cells: Iterable[str]) -> str:
    """Whether a column's 3/14/2026 are 'month' or 'day' first, if one of them can only be one."""
    found = {
        "day" if int(match[1]) > 12 else "month"
        for cell in cells
        if (match := _SLASHED.fullmatch(cell)) and max(int(match[1]), int(match[2])) > 12
    }
    return found.pop() if len(found) == 1 else ""


def date_in(text: str, slashed: str) -> tuple[date, time | None]:
    """A date, and the time behind it. `slashed` says which comes first in 3/4/2026."""
    if match := _ISO.fullmatch(text):
        clock = time_in(match["clock"]) if match["clock"] else None
        return _date(text, int(match[1]), int(match[2]), int(match[3])), clock
    if match := _DOTTED.fullmatch(text):
        return _date(text, _year(match[3]), int(match[2]), int(match[1])), None
    if match := _SLASHED.fullmatch(text):
        first, second = int(match[1]), int(match[2])
        if not slashed and first != second:
            raise ValueError(
                f"{quoted(text)} can be read in two ways. Choose for this column whether the month "
                "or the day comes first."
            )
        month, its_day = (second, first) if slashed == "day" else (first, second)
        return _date(text, _year(match[3]), month, its_day), None
    if _SERIAL.fullmatch(text):
        meant = date(1899, 12, 30) + timedelta(days=int(text.partition(".")[0]))
        raise ValueError(
            f"{quoted(text)} is a number. If it is {day(meant)}, as a spreadsheet "
            f"counts days, show the cells as dates. {WRITE_DATE}"
        )
    raise ValueError(f"{quoted(text)} is no date. {WRITE_DATE}")


def _year(text: str) -> int:
    return int(text) + (2000 if len(text) == 2 else 0)


def _date(text: str, year: int, month: int, its_day: int) -> date:
    if not year >= FIRST_YEAR:
        raise ValueError(f"{quoted(text)} is before {FIRST_YEAR}. {WRITE_DATE}")
    try:
        return date(year, month, its_day)
    except ValueError:
        raise ValueError(f"{quoted(text)} is no day of the calendar. {WRITE_DATE}") from None


def time_in(text: str) -> time:
    """A time of day: 10:20, 2:05 pm."""
    match = _CLOCK.fullmatch(text)
    if match is None:
        raise ValueError(f"{quoted(text)} is no time of day. Write it as 14:20 or 2:20 pm.")
    hour, half = int(match[1]), (match[4] or "").lower()
    if half and not 1 <= hour <= 12:
        raise ValueError(f"{quoted(text)} is no time of day. Write it as 14:20 or 2:20 pm.")
    if half:
        hour = hour % 12 + (12 if half.startswith("p") else 0)
    try:
        return time(hour, int(match[2]), int(match[3] or 0))
    except ValueError:
        raise ValueError(f"{quoted(text)} is no time of day. Write it as 14:20.") from None


def moment_of(when: date, clock: time, zone: Any) -> datetime:
    """That wall clock's moment."""
    return datetime.combine(when, clock, zone)


def one_of(text: str, choices: Sequence[tuple[str, str]], what: str) -> str:
    """The value that a cell names by itself or by its label."""
    wanted = text.casefold()
    for value, label in choices:
        if wanted in (value.casefold(), label.casefold()):
            return value
    allowed = ", ".join(value for value, _ in choices)
    raise ValueError(f"{quoted(text)} is no {what}. Write one of: {allowed}.")


def lap_text(text: str) -> str:
    """Laps without the hours that a spreadsheet writes before them."""
    return re.sub(r"\b0{1,2}:(?=\d{1,2}:\d{1,2}[.,]?)", "", text)
