"""Sheets of labels by their size; common sizes from memory, common practice, no source.

On all of them the labels stand in the middle of the paper, so the margins follow from the size,
the number and the distance between them.
"""

from dataclasses import dataclass

PAPERS = {"letter": (215.9, 279.4), "A4": (210.0, 297.0)}  # mm; 8 1/2 x 11 in, ISO 216
INCH = 25.4


@dataclass(frozen=True, slots=True)
class LabelSheet:
    """Sizes in mm; `gap` is what lies between two columns. `words` say the size as the box does."""

    key: str
    words: str
    paper: str
    columns: int
    rows: int
    width: float
    height: float
    gap: float

    @property
    def left(self) -> float:
        """From the paper's edge to the first column."""
        used = self.columns * self.width + (self.columns - 1) * self.gap
        return (PAPERS[self.paper][0] - used) / 2.0

    @property
    def top(self) -> float:
        """From the paper's edge to the first row."""
        return (PAPERS[self.paper][1] - self.rows * self.height) / 2.0

    @property
    def each(self) -> int:
        """Labels on one sheet."""
        return self.columns * self.rows

    @property
    def name(self) -> str:
        """As a button says it."""
        return f"{self.words}, {self.each} on {'A4' if self.paper == 'A4' else 'Letter'}"

    def places(self, count: int) -> list[list[tuple[float, float]]]:
        """Where `count` labels stand, left and top in mm, sheet by sheet, row by row."""
        all_places = [self._place(n % self.each) for n in range(count)]
        return [all_places[n : n + self.each] for n in range(0, count, self.each)]

    def _place(self, n: int) -> tuple[float, float]:
        row, column = divmod(n, self.columns)
        return self.left + column * (self.width + self.gap), self.top + row * self.height


def _inches(key: str, words: str, grid: tuple[int, int], *sizes: float) -> LabelSheet:
    """On Letter; columns and rows, then width, height and gap in inches."""
    width, height, gap = (size * INCH for size in sizes)
    return LabelSheet(key, words, "letter", *grid, width, height, gap)


SHEETS = [
    _inches("letter-30", "2 5/8 × 1 in", (3, 10), 2.625, 1.0, 0.125),
    _inches("letter-14", "4 × 1 1/3 in", (2, 7), 4.0, 4.0 / 3.0, 0.1875),
    _inches("letter-10", "4 × 2 in", (2, 5), 4.0, 2.0, 0.1875),
    LabelSheet("a4-24", "70 × 37 mm", "A4", 3, 8, 70.0, 37.0, 0.0),
    LabelSheet("a4-21", "63.5 × 38.1 mm", "A4", 3, 7, 63.5, 38.1, 2.5),
    LabelSheet("a4-8", "99.1 × 67.7 mm", "A4", 2, 4, 99.1, 67.7, 2.5),
]
