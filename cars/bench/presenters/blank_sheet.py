"""A bench sheet to fill in by hand: the lines of a sheet with their targets, and room to write."""

from dataclasses import dataclass

from cars.sheets.presenters.figure_table import FOUR, Group, TableRow, figure_table, row_id
from cars.sheets.presenters.sheet_view import SheetView, StepView

# A drawing needs that many lines beside it to be read at arm's length.
LINES_OF_A_DRAWING = 5
HALVES = {"left": FOUR[:2], "right": FOUR[2:]}


@dataclass(frozen=True, slots=True)
class BlankCell:
    """Room for a figure found and set over so many of four columns; none without a box."""

    span: int
    box: str = ""
    name: str = ""  # front or rear, where no column says it
    target: str = ""


@dataclass(frozen=True, slots=True)
class BlankLine:
    """A measure: its letter on the drawing, if there is one, and where it is measured."""

    row: TableRow
    letter: str
    where: str
    cells: tuple[BlankCell, ...]


@dataclass(frozen=True, slots=True)
class BlankStep:
    """A step with its lines; the half of the four columns that none needs is left free."""

    order: int
    name: str
    caution: str
    lines: tuple[BlankLine, ...]
    checks: tuple[str, ...]
    free: str = ""  # left or right
    drawing: str = ""  # the template that stands there


def blank_steps(view: SheetView) -> list[BlankStep]:
    """Every step of the sheet, whatever has been read on it already."""
    return [_step(step, group) for step, group in zip(view.steps, figure_table(view), strict=True)]


def _step(view: StepView, group: Group) -> BlankStep:
    rows = [row for row in group.rows if row.cells]
    free = _free_half(rows)
    is_drawn = bool(free) and len(rows) >= LINES_OF_A_DRAWING
    places = {row_id(row.measure): place for place, row in enumerate(view.rows)}
    where = {row_id(row.measure): row.measure.where for row in view.rows}
    return BlankStep(
        view.step.order,
        view.step.name,
        view.step.caution,
        tuple(
            BlankLine(
                row,
                chr(ord("A") + places[row.id]) if is_drawn else "",
                where[row.id],
                _cells(row, free),
            )
            for row in rows
        ),
        tuple(_checks(view)),
        free,
        f"cars/bench/drawings/{view.step.pk}.svg" if is_drawn else "",
    )


def _free_half(rows: list[TableRow]) -> str:
    """The half in whose columns no line has a box."""
    used = {spot for row in rows for spot in _columns(row)}
    return next((half for half, spots in HALVES.items() if used and not used & set(spots)), "")


def _columns(row: TableRow) -> list[str]:
    """The columns that the row's figures stand in."""
    found: list[str] = []
    column = 0
    for cell in row.cells:
        if cell.box:
            found += FOUR[column : column + cell.span]
        column += cell.span
    return found


def _cells(row: TableRow, free: str) -> tuple[BlankCell, ...]:
    column, cells = 0, []
    for cell in row.cells:
        if not free or FOUR[column] not in HALVES[free]:
            name = cell.tag if cell.span > 1 else ""
            cells.append(BlankCell(cell.span, cell.box, name, cell.target))
        column += cell.span
    return tuple(cells)


def _checks(view: StepView) -> list[str]:
    """Each thing to look at with every place where it is looked at."""
    return [
        f"{row.measure.name} {box.spot}".strip()
        for row in view.rows
        if row.is_check
        for box in row.boxes
    ]
