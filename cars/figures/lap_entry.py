"""Lap times as people type or paste them: `7.41 7.52 7,48`, `0:07.41`, one a line, numbered lines.

Nothing is guessed: what is no lap time is named with its row, and then none is read.
"""

import re
from collections.abc import Sequence
from decimal import Decimal
from itertools import pairwise

from cars.mechanics.laps import LONGEST_LAP, MOST_LAPS
from clubsetup.quantities.errors import quoted
from clubsetup.quantities.spelling import tidy

MOST_SAID = 5  # of the rows that are wrong
FEWEST_TWICE = 3  # laps that are alike, one after the other, by chance

_TIME = re.compile(r"(?:(?P<minutes>\d{1,2})[:'′])?(?P<seconds>\d{1,4}(?:[.,]\d{1,4})?)s?")
_BETWEEN = re.compile(r"[\s;|]+|,(?=\s|$)")
_TWO_SEPARATORS = re.compile(r"\d\.\d+,\d")


class LapsRefusedError(ValueError):
    """What stands there is not all lap times; `problems` say where and what, in order."""

    def __init__(self, problems: Sequence[str]) -> None:
        self.problems = list(problems)
        more = len(problems) - MOST_SAID
        said = [*problems[:MOST_SAID], *([f"And {more} more."] if more > 0 else [])]
        super().__init__(" ".join(said))


def read_laps(text: str) -> list[Decimal]:
    """The lap times in seconds, in their order. Raises LapsRefusedError; nothing typed is none."""
    rows = [(number, _words(line)) for number, line in enumerate(text.splitlines(), 1)]
    rows = [(number, words) for number, words in rows if words]
    problems: list[str] = []
    laps: list[Decimal] = []
    for number, words in _without_numbers(rows, problems):
        for word in words:
            try:
                laps.append(_seconds(word))
            except ValueError as refused:
                problems.append(f"Row {number}: {refused}")
    if len(laps) > MOST_LAPS:
        problems.append(f"These are {len(laps)} laps. A run has at most {MOST_LAPS}.")
    problems += _twice(laps)
    if problems:
        raise LapsRefusedError(problems)
    return laps


def _words(line: str) -> list[str]:
    # 7.41,7.52 holds two times; in 7,48 the comma is the decimal one.
    line = tidy(line)
    if _TWO_SEPARATORS.search(line):
        line = line.replace(",", " ")
    return [word for word in _BETWEEN.split(line) if word]


def _without_numbers(
    rows: list[tuple[int, list[str]]], problems: list[str]
) -> list[tuple[int, list[str]]]:
    """Where each line begins with the lap's number, the times alone; a line of another width is a
    column that has shifted."""
    numbers = [words[0].rstrip(".)") for _, words in rows]
    is_numbered = len(rows) > 1 and sum(len(words) == 2 for _, words in rows) > len(rows) / 2
    counted = [int(word) for word in numbers if word.isdecimal()]
    if not is_numbered or not _count_up(counted, len(rows)):
        return rows
    for number, words in rows:
        if len(words) != 2 or not words[0].rstrip(".)").isdecimal():
            problems.append(
                f"Row {number}: the other rows hold a lap's number and its time, "
                f"this one {quoted(' '.join(words))}."
            )
    return [(number, words[1:]) for number, words in rows if len(words) == 2]


def _count_up(counted: list[int], rows: int) -> bool:
    most = len(counted) > rows / 2 and counted[0] in (0, 1)
    return most and all(after > before for before, after in pairwise(counted))


def _seconds(word: str) -> Decimal:
    match = _TIME.fullmatch(word)
    if match is None:
        raise ValueError(f"{quoted(word)} is no lap time. Write it as 7.41 or 0:07.41.")
    seconds = Decimal(match["seconds"].replace(",", "."))
    if match["minutes"] is not None:
        if seconds >= 60:
            raise ValueError(f"{quoted(word)} has 60 seconds or more after its minutes.")
        seconds += 60 * int(match["minutes"])
    if not seconds:
        raise ValueError(f"{quoted(word)}: no lap takes no time.")
    if seconds >= LONGEST_LAP:
        raise ValueError(f"{quoted(word)}: no lap takes ten minutes.")
    return round(seconds, 3)


def _twice(laps: list[Decimal]) -> list[str]:
    half, odd = divmod(len(laps), 2)
    if odd or half < FEWEST_TWICE or laps[:half] != laps[half:]:
        return []
    return [f"Laps {half + 1} to {2 * half} are laps 1 to {half} again. Paste them once."]
