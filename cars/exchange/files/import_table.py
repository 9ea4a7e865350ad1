"""A table read from a file: what stands in its cells as text, and what is wrong with them.

The limits hold whatever a file says of itself: it is unpacked and read as a stream, and reading
stops where one is passed.
"""

from dataclasses import dataclass, field

MOST_BYTES = 8_000_000  # of the file as it is sent
MOST_ROWS = 5_000  # that something stands in
MOST_COLUMNS = 200
LONGEST_CELL = 4_000  # signs: the 500 laps of a run in one cell
MOST_TEXT = 4_000_000  # signs of all cells together


class TableRefused(ValueError):
    """The file cannot be read as a table; the message says why and what to do instead."""


@dataclass(frozen=True, slots=True)
class Flaw:
    """What is wrong with a cell, whatever it is to hold. Rows count from 1, columns from 0."""

    row: int
    column: int
    message: str


@dataclass(slots=True)
class Table:
    """The rows that something stands in, each with its number in the file."""

    rows: list[tuple[int, list[str]]] = field(default_factory=list)
    flaws: list[Flaw] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)
    _signs: int = 0

    def add(self, number: int, cells: list[str]) -> None:
        """Adds a row, unless it is empty. Raises TableRefused where a limit is passed."""
        while cells and not cells[-1]:
            cells.pop()
        if not cells:
            return
        if len(cells) > MOST_COLUMNS:
            raise TableRefused(
                f"Row {number} has {len(cells)} columns. At most {MOST_COLUMNS} are read: take out "
                "those that are not to be brought in."
            )
        if len(self.rows) == MOST_ROWS:
            raise TableRefused(
                f"More than {MOST_ROWS} rows are filled. Bring them in as several files."
            )
        if any(len(cell) > LONGEST_CELL for cell in cells):
            raise TableRefused(too_long(number))
        self._signs += sum(map(len, cells))
        if self._signs > MOST_TEXT:
            raise TableRefused("This file holds more text than is read at once. Split it.")
        self.rows.append((number, cells))


def too_long(row: int) -> str:
    """What is said of a cell that nobody filled by hand."""
    return f"Row {row} has a cell of more than {LONGEST_CELL} signs. Shorten it."
