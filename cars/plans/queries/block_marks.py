"""Which block marks to try next: this car's own marks and gauge readings over all its sheets."""

import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from uuid import UUID

from cars.catalogue.adjusters import touch
from cars.catalogue.keys import Key
from cars.figures.judgement import FigureOutcome, Standard, judge, reach_of
from cars.figures.prediction_format import as_decimal
from cars.mechanics import MechanicsError
from cars.mechanics.kingpin import BlockChart, BlockChoice, BlockReading, Suggestion
from cars.models import Car, Change, Reading
from cars.plans.queries.sheet_figures import SheetFigures

Marks = tuple[str, ...]
SIDES = ("left", "right")
MARKS = "block-marks"
ANGLES = ("camber", "caster")
_BETWEEN = re.compile(r"[\s/,;|+&-]+")


@dataclass(frozen=True, slots=True)
class Tried:
    """A setting with what it is expected to give; caster None where nothing tells.

    `outcome` is what the next camber reading is expected to be to its target, with its 95 %.
    """

    camber: BlockChoice
    caster: BlockChoice | None
    outcome: FigureOutcome
    stands: bool = False  # the blocks are noted as set so now


@dataclass(frozen=True, slots=True)
class SideMarks:
    """One side of the car: the nearest settings, or why there are none.

    `outcome` is what the camber as read is to its target; one on target is left alone, and
    nothing is suggested for it.
    """

    side: str
    pairs: int
    target: float | None
    now: float | None
    choices: Sequence[Tried]
    suggestion: Suggestion | None
    why_not: str = ""
    outcome: FigureOutcome = FigureOutcome.NOT_TAKEN
    seen: str = ""
    standard: Standard | None = None  # what the camber is judged by

    @property
    def leave(self) -> bool:
        """The camber is on target: nothing to set, nothing to read."""
        return self.outcome is FigureOutcome.ON_TARGET

    @property
    def measure_next(self) -> Marks | None:
        """The marks that would teach most, where the chart is thin and there is a need."""
        if self.leave or self.suggestion is None:
            return None
        return self.suggestion.measure_next


def marks_of(text: str) -> tuple[str, ...]:
    """The marks in a note: '2 / 1', '2-1', 'B, 3'."""
    return tuple(part.upper() for part in _BETWEEN.split(text.strip()) if part)


def side_marks(on_sheet: SheetFigures) -> list[SideMarks]:
    """Both sides. Three queries more than the sheet's own."""
    pairs = pairs_of(on_sheet.sheet.car)
    return [_side(on_sheet, side, pairs) for side in SIDES]


Pairs = dict[tuple[str, str], list[BlockReading]]


def _side(on_sheet: SheetFigures, side: str, pairs: Pairs) -> SideMarks:
    goal = on_sheet.targets.goals.get(Key("camber", side))
    camber, caster = (_alike(pairs.get((angle, side), [])) for angle in ANGLES)
    now = on_sheet.value("camber", side)
    empty = SideMarks(
        side,
        len(camber),
        goal.value if goal else None,
        now,
        (),
        None,
        outcome=on_sheet.outcome("camber", side),
        seen=seen(on_sheet, side),
        standard=on_sheet.targets.standards.get(Key("camber", side)),
    )
    if goal is None:
        return _because(empty, "There is no camber target for this side.")
    if not camber:
        return _because(
            empty, "Note the block marks and the gauge's camber on the same sheet first."
        )
    try:
        chart = BlockChart(camber)
        suggestion = chart.suggest(goal.value)
    except MechanicsError as refused:
        return _because(empty, str(refused))
    standing, wanted = (
        standing_marks(on_sheet, side),
        on_sheet.targets.standards[Key("camber", side)],
    )
    choices = [
        Tried(
            choice,
            _expected(caster, choice.marks),
            _outcome(choice, wanted),
            stands=choice.marks == standing,
        )
        for choice in suggestion.choices
    ]
    return replace(empty, choices=choices, suggestion=suggestion)


def camber_marks(pairs: Pairs, side: str, wanted: float) -> BlockChoice | str:
    """The marks that come nearest to a camber, degrees, by what this car's blocks gave; or why
    nothing tells."""
    camber = _alike(pairs.get(("camber", side), []))
    if not camber:
        return "Note the block marks and the gauge's camber on the same sheet first."
    try:
        return BlockChart(camber).suggest(wanted).choices[0]
    except (MechanicsError, IndexError) as refused:
        return str(refused)


def _because(marks: SideMarks, why: str) -> SideMarks:
    return replace(marks, why_not=why)


def _outcome(choice: BlockChoice, wanted: Standard) -> FigureOutcome:
    reach = reach_of(as_decimal(choice.u))
    return judge(as_decimal(choice.angle), wanted.target, wanted.tolerance, reach).outcome


def seen(on_sheet: SheetFigures, side: str) -> str:
    """A mark of the readings of a side that its blocks are set from."""
    return on_sheet.seen((MARKS, *ANGLES), side)


def standing_marks(on_sheet: SheetFigures, side: str) -> Marks:
    """The marks that a side's blocks are noted at; none where they were moved since."""
    rows = [row for row in on_sheet.readings if (row.measure_id, row.spot) == (MARKS, side)]
    moved = [row for row in on_sheet.changes if row.adjuster == "block" and touch(row.spot, side)]
    if not rows or _older(rows[0], moved):
        return ()
    return marks_of(rows[0].typed)


def _expected(caster: list[BlockReading], marks: tuple[str, ...]) -> BlockChoice | None:
    try:
        return BlockChart(caster).expected(marks)
    except MechanicsError:
        return None


def _alike(readings: list[BlockReading]) -> list[BlockReading]:
    """Those that give a mark for as many blocks as most do: the rest was noted otherwise."""
    counts = Counter(len(reading.marks) for reading in readings)
    usual = counts.most_common(1)[0][0] if counts else 0
    return [reading for reading in readings if len(reading.marks) == usual]


def pairs_of(car: Car) -> Pairs:
    """Marks and angles of one sheet and side, neither read before the blocks were moved."""
    rows = (
        Reading.objects.current()
        .filter(sheet__car=car, sheet__corrected_by__isnull=True, measure__in=(MARKS, *ANGLES))
        .order_by("taken_at")
    )
    by_sheet: dict[tuple[UUID, str], dict[str, Reading]] = {}
    for row in rows:
        by_sheet.setdefault((row.sheet_id, row.spot), {})[row.measure_id] = row
    moved = _moved(car)
    pairs: Pairs = {}
    for (sheet, side), read in by_sheet.items():
        since = [change for change in moved.get(sheet, []) if touch(change.spot, side)]
        marks = marks_of(read[MARKS].typed) if MARKS in read else ()
        if not marks or _older(read[MARKS], since):
            continue
        for angle in ANGLES:
            row_ = read.get(angle)
            if row_ is not None and row_.value is not None and not _older(row_, since):
                pair = BlockReading(marks, float(row_.value))
                pairs.setdefault((angle, side), []).append(pair)
    return pairs


def _moved(car: Car) -> dict[UUID, list[Change]]:
    moved: dict[UUID, list[Change]] = {}
    for change in Change.objects.current().filter(sheet__car=car, adjuster="block"):
        moved.setdefault(change.sheet_id, []).append(change)
    return moved


def _older(reading: Reading, changes: list[Change]) -> bool:
    return any(change.made_at > reading.taken_at for change in changes)
