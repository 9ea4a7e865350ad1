"""A sheet as a table, on its page and on paper: a line a measure, the wheels in four columns."""

from collections import Counter
from dataclasses import dataclass, field, replace

from cars.models.catalogue import Measure, Spot
from cars.sheets.presenters.boxes import Box
from cars.sheets.presenters.sheet_view import SheetRow, SheetView, StepView

FOUR = (Spot.LF, Spot.RF, Spot.LR, Spot.RR)
# What these measure at a side stands at the rear wheel there; all else at the front one.
REAR_STEPS = ("rear-axle",)
AXLE_STEPS = (*REAR_STEPS, "front-axle", "kingpin", "steering")
MARKED = ("bad", "close", "again")
SIDES = {Spot.LEFT: "L", Spot.RIGHT: "R"}


@dataclass(frozen=True, slots=True)
class Cell:
    """A figure found, set and wanted, over `span` of the four columns; empty without a box."""

    span: int = 1
    spot: str = ""  # of the column it begins in
    tag: str = ""  # what says where it was read, where no column does
    box: str = ""
    found: str = ""  # only where it was changed
    set: str = ""
    target: str = ""
    reach: str = ""  # of a computed figure
    typed: str = ""  # where the figure is rounded from it
    look: str = ""  # only of an exception
    mark: str = ""
    words: str = ""
    carried: bool = False
    is_words: bool = False


@dataclass(frozen=True, slots=True)
class Check:
    """Something that was looked at, or not yet."""

    box: str
    name: str
    look: str
    mark: str
    words: str


@dataclass(frozen=True, slots=True)
class TableRow:
    """A measure, or all that is to be checked at a step."""

    id: str
    name: str
    unit: str = ""
    tolerance: str = ""
    is_four: bool = False
    cells: tuple[Cell, ...] = ()
    checks: tuple[Check, ...] = ()


@dataclass(frozen=True, slots=True)
class StepHead:
    """What stands before the first line of a step."""

    order: int
    name: str
    id: str
    url: str = ""


@dataclass(frozen=True, slots=True)
class Group:
    """A step with its lines."""

    step: StepHead
    rows: list[TableRow] = field(default_factory=list)


def figure_table(view: SheetView, urls: dict[str, str] | None = None) -> list[Group]:
    """The sheet as lines by steps; `urls` leads to where each step is measured."""
    return [_group(step, (urls or {}).get(step.step.pk, "")) for step in view.steps]


def _group(view: StepView, url: str) -> Group:
    head = StepHead(view.step.order, view.step.name, view.step.pk, url)
    rows = [_row(row) for row in view.rows if not row.is_check]
    if checks := tuple(check for row in view.rows if row.is_check for check in _checks(row)):
        rows.append(TableRow(checks_id(view.step.pk), "Checked", checks=checks))
    return Group(head, rows)


def _row(row: SheetRow) -> TableRow:
    measure = row.measure
    # "Left side %" says its own.
    unit = "" if row.unit and measure.name.endswith(row.unit) else row.unit.strip()
    # Of both axles: its columns do not say whose sides these are.
    is_of_sides = Spot.LEFT in measure.spots and measure.step_id not in AXLE_STEPS
    return TableRow(
        row_id(measure),
        f"{measure.name} L, R" if is_of_sides else measure.name,
        unit,
        _tolerances(row),
        is_four=len(row.boxes) == len(FOUR),
        cells=_cells(row),
    )


def row_id(measure: Measure) -> str:
    """What a line of the table is led to by; a step may be called as a measure is."""
    return f"m-{measure.pk}"


def checks_id(step: str) -> str:
    """The same of the line of all that is checked at a step."""
    return f"m-checks-{step}"


def _tolerances(row: SheetRow) -> str:
    """'1/16', or '1/16, RR ±1/8' where it is another at one spot; none where nothing may be off."""
    given = [box for box in row.boxes if box.target]
    if not given:
        return ""
    usual = Counter(box.tolerance for box in given).most_common(1)[0][0]
    others = [f"{box.spot} ±{box.tolerance}" for box in given if box.tolerance != usual]
    if usual == "0" and not others:
        return ""
    return ", ".join([usual, *others])


def _cells(row: SheetRow) -> tuple[Cell, ...]:
    """The boxes in the columns where they were read, and empty cells for the others."""
    places = _places(row.measure)
    cells: list[Cell] = []
    column = 0
    for box in row.boxes:
        start, span = places[box.key.spot]
        cells += [Cell(spot=FOUR[at]) for at in range(column, start)]
        cells.append(_cell(row, box, FOUR[start] if span == 1 else box.key.spot, span))
        column = start + span
    return (*cells, *(Cell(spot=FOUR[at]) for at in range(column, len(FOUR))))


def _places(measure: Measure) -> dict[str, tuple[int, int]]:
    """Of each spot the column it begins in and how many it spans."""
    left = 2 if measure.step_id in REAR_STEPS else 0
    places: dict[str, tuple[int, int]] = {spot: (at, 1) for at, spot in enumerate(FOUR)}
    places |= {Spot.LEFT: (left, 1), Spot.RIGHT: (left + 1, 1)}
    return places | {Spot.FRONT: (0, 2), Spot.REAR: (2, 2), Spot.CAR: (0, 4)}


def _cell(row: SheetRow, box: Box, spot: str, span: int) -> Cell:
    is_marked = box.state in MARKED and not box.wrong
    figure = bare_figure(box, row.unit)
    return Cell(
        span=span,
        spot=spot,
        tag=_tag(box),
        box=box.name,
        found=box.before if figure and box.before != figure else "",
        set=figure,
        target=box.target,
        reach=box.spread.removesuffix(row.unit) if box.is_taken and row.unit else "",
        typed=box.text if box.is_rounded else "",
        look=box.state if is_marked else "",
        mark=box.shape if is_marked else "",
        words=box.words if is_marked else "",
        carried=box.is_carried and not box.is_retake,
        is_words=row.is_words and bool(figure),
    )


def bare_figure(box: Box, unit: str) -> str:
    """The figure without its unit, which stands beside the measure's name."""
    return box.shown.removesuffix(unit) if unit else box.shown


def _tag(box: Box) -> str:
    if len(box.measure.spots) == 1:
        return ""
    return SIDES.get(Spot(box.key.spot), box.key.spot)


def _checks(row: SheetRow) -> list[Check]:
    """One of all spots where it is the same of each."""
    checks = [_check(box, f"{row.measure.name} {box.spot}".strip()) for box in row.boxes]
    if len({check.words for check in checks}) > 1:
        return checks
    return [replace(checks[0], name=_small(row.measure.name))]


def _check(box: Box, name: str) -> Check:
    """Ticked where it was done on this sheet and nothing has been changed since."""
    if box.is_retake:
        return Check(box.name, _small(name), "again", "↻", box.words)
    if box.is_read:
        return Check(box.name, _small(name), "good", "✓", "checked")
    return Check(box.name, _small(name), "none", "○", "not checked")


def _small(name: str) -> str:
    return name[:1].lower() + name[1:]
