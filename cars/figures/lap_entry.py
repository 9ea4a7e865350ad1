"""Lap times as people type or paste them: `7.41 7.52 7,48`, `0:07.41`, one a line."""

import re
from dataclasses import dataclass
from decimal import Decimal

from cars.mechanics.laps import LONGEST_LAP, MOST_LAPS
from clubsetup.quantities.errors import Refusal, quoted
from clubsetup.quantities.spelling import tidy

LONGEST_TEXT = 20_000
MOST_TOLD = 5  # problems that a message says; what is wrong with one is often wrong with all

_TIME = re.compile(r"(?:(?P<minutes>[0-9]{1,2}):)?(?P<whole>[0-9]{1,4})(?:[.,](?P<part>[0-9]*))?")
_PLACES = 3
_BETWEEN = re.compile(r"[;|]|,(?=\s|$)|(?<=[0-9][.][0-9]),|(?<=[0-9][.][0-9]{2}),")
_AFTER_THOUSANDTHS = re.compile(r"(?<=[0-9][.][0-9]{3}),")


@dataclass(frozen=True, slots=True)
class LapProblem:
    """What is wrong in one row of what was typed, rows counted from one."""

    row: int
    message: str

    def __str__(self) -> str:
        """As a page says it."""
        return f"Row {self.row}: {self.message}"


class LapEntryError(ValueError):
    """Typed text that is no list of lap times; `problems` name their rows, `text` is kept."""

    def __init__(self, problems: list[LapProblem], text: str) -> None:
        told = [str(problem) for problem in problems[:MOST_TOLD]]
        if len(problems) > MOST_TOLD:
            told.append(f"And {len(problems) - MOST_TOLD} more like these.")
        super().__init__(" ".join(told))
        self.problems = tuple(problems)
        self.text = text


def read_laps(text: str) -> tuple[Decimal, ...]:
    """The lap times in `text`, in s, exactly and in the order written.

    Times stand apart by spaces, lines, tabs, semicolons or a comma with a space after it; a
    comma between digits is a decimal comma, or stands between times written with a point.
    Minutes are written before a colon. Where each of several rows is a number counting up from 1
    and a time, the first is the lap's number. Raises LapEntryError, and for no text anything
    else: for nothing, letters, zero, below zero, over ten minutes, over 500 laps.
    """
    if len(text) > LONGEST_TEXT:
        raise LapEntryError([LapProblem(1, "This is too long for the laps of one run.")], text)
    rows = _rows(text)
    times: list[Decimal] = []
    problems: list[LapProblem] = []
    for row, pieces in rows:
        for piece in pieces:
            try:
                times.append(_time(piece))
            except Refusal as refusal:
                problems.append(LapProblem(row, str(refusal)))
            if len(times) == MOST_LAPS + 1:
                message = f"With this row there are over {MOST_LAPS} laps. Write one run at a time."
                problems.append(LapProblem(row, message))
    if not rows:
        message = "Nothing is written here. Write the lap times, as in 7.41 7.52 7.48."
        problems.append(LapProblem(1, message))
    if problems:
        raise LapEntryError(problems, text)
    return tuple(times)


def _rows(text: str) -> list[tuple[int, list[str]]]:
    """The pieces of each row that has any, without a first column that counts the laps."""
    rows = [(row, _pieces(line)) for row, line in enumerate(text.splitlines(), start=1)]
    rows = [(row, pieces) for row, pieces in rows if pieces]
    numbers = [pieces[0].rstrip(".):") for _, pieces in rows]
    counts = [str(lap) for lap in range(1, len(rows) + 1)]
    if len(rows) > 1 and numbers == counts and all(len(pieces) == 2 for _, pieces in rows):
        return [(row, pieces[1:]) for row, pieces in rows]
    return rows


def _pieces(line: str) -> list[str]:
    return _AFTER_THOUSANDTHS.sub(" ", _BETWEEN.sub(" ", tidy(line))).split()


def _time(piece: str) -> Decimal:
    """One lap time, s. Raises Refusal."""
    if piece.startswith("-"):
        raise Refusal(f"{quoted(piece)} is below zero, and no lap is.")
    match = _TIME.fullmatch(piece)
    if match is None:
        raise Refusal(f"{quoted(piece)} is not a lap time. Write it as 7.41 or 1:02.35.")
    minutes, whole, part = match["minutes"], int(match["whole"]), match["part"] or ""
    if len(part) > _PLACES:
        raise Refusal(f"{quoted(piece)} has more digits than a lap is timed to. Write 7.412.")
    if minutes is not None and whole >= 60:
        raise Refusal(f"{quoted(piece)} has 60 seconds or more beside its minutes.")
    seconds = 60 * int(minutes or 0) + Decimal(f"{whole}.{part or 0}")
    if not seconds:
        raise Refusal(f"{quoted(piece)} is zero, and no lap is.")
    if seconds > Decimal(LONGEST_LAP):
        raise Refusal(f"{quoted(piece)} is over ten minutes. Write the time of one lap.")
    return seconds
