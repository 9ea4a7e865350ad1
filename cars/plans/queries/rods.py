"""What to turn at the radius rods so that the rear axle stands square and its carriers right."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from cars.catalogue.keys import Key
from cars.figures.judgement import FigureOutcome, worst
from cars.mechanics.rods import EndMove, Rod, RodTurns, moved, square_end, whole_turns
from cars.plans.queries.sheet_figures import SheetFigures

SIDES = ("left", "right")
RODS = ("upper", "lower")
BAR, ROTATION = "rear-bar", "carrier-rotation"
HALF, QUARTER = 0.5, 0.25
FIRST = (
    "Take the distance from the frame bar to the axle on both sides and the rotation of both "
    "carriers first."
)


@dataclass(frozen=True, slots=True)
class EndPlan:
    """One end of the axle: what to turn, and what stays. mm and degrees.

    ``wanted`` is the move that would bring it to target, ``left_over`` what stays after whole
    turns; plus is forward, and the top of the carrier forward. ``outcome`` is what bar and carrier
    there are to their targets as read: one on target is left alone.
    """

    side: str
    wanted: EndMove
    turns: RodTurns
    exact: RodTurns
    left_over: EndMove
    outcome: FigureOutcome = FigureOutcome.NO_TARGET
    bar_then: float = 0.0  # as the tape and the gauge should read after the turns
    rotation_then: float = 0.0

    @property
    def todo(self) -> list[tuple[str, float]]:
        """Which rod to turn by how much; nothing where the end is on target."""
        if self.outcome is FigureOutcome.ON_TARGET:
            return []
        return [(rod, turns) for rod, turns in zip(RODS, self.turns, strict=True) if turns]


def rods_of(
    threads: float,
    upper: float,
    lower: float,
    *,
    both_ends: bool,
    behind: bool = False,
    angle_upper: float = 0.0,
    angle_lower: float = 0.0,
) -> tuple[Rod, Rod, float]:
    """Upper rod, lower rod, and the step they can be turned by.

    ``threads`` per inch; ``upper`` and ``lower`` are how far the pins lie above and below the
    middle of the axle, mm; angles are degrees of rise towards the frame, which is ``behind`` or
    ahead. One threaded end comes off its pin and goes back in half turns; with both ends threaded
    a quarter is as fine as people turn (common practice, no source). Raises BadInput.
    """
    where: Literal["ahead", "behind"] = "behind" if behind else "ahead"
    first, second = (
        Rod(threads, height, both_ends=both_ends, angle=angle, frame_is=where)
        for height, angle in ((upper, angle_upper), (-lower, angle_lower))
    )
    return first, second, QUARTER if both_ends else HALF


def targets(on_sheet: SheetFigures) -> dict[Key, float]:
    """Where bar and carrier should be: the target's figures, or, for the bar, both ends alike.

    Without a target the mean of both ends squares the axle and keeps its middle where it is.
    """
    goals = {
        Key(measure, side): on_sheet.targets.goals[Key(measure, side)].value
        for measure in (BAR, ROTATION)
        for side in SIDES
        if Key(measure, side) in on_sheet.targets.goals
    }
    read = [value for side in SIDES if (value := on_sheet.value(BAR, side)) is not None]
    for side in SIDES:
        if len(read) == len(SIDES):
            goals.setdefault(Key(BAR, side), sum(read) / len(read))
        rotation = on_sheet.value(ROTATION, side)
        if rotation is not None:
            goals.setdefault(Key(ROTATION, side), rotation)
    return goals


def read_for(on_sheet: SheetFigures) -> dict[Key, float | None]:
    """The four figures that a plan of rods starts from."""
    keys = [Key(measure, side) for measure in (BAR, ROTATION) for side in SIDES]
    return {key: on_sheet.value(key.measure, key.spot) for key in keys}


def seen(on_sheet: SheetFigures) -> str:
    """A mark of the readings that a plan of rods starts from."""
    return on_sheet.seen((BAR, ROTATION))


def lacking(on_sheet: SheetFigures) -> str:
    """What must be read first, in words; empty when all is there."""
    read = read_for(on_sheet)
    if None not in read.values():
        return ""
    stale = [key for key in read if key in on_sheet.stale]
    return "Something was changed since: take bar and rotation again." if stale else FIRST


def end_plans(on_sheet: SheetFigures, upper: Rod, lower: Rod, *, step: float) -> Sequence[EndPlan]:
    """Turns of both rods at each end, in whole multiples of ``step``.

    The frame bar is taken to lie where the rods' frame ends are, so that 'far' means too far
    from it. Raises Singular for rods that cannot hold a rotation, BadInput as `square_end`.
    """
    wanted, away = targets(on_sheet), 1.0 if upper.frame_is == "ahead" else -1.0
    plans = []
    for side in SIDES:
        bar, rotation = on_sheet.value(BAR, side), on_sheet.value(ROTATION, side)
        if bar is None or rotation is None:
            continue
        move = EndMove(
            away * (bar - wanted[Key(BAR, side)]), wanted[Key(ROTATION, side)] - rotation
        )
        exact = square_end(upper, lower, fore_aft=move.fore_aft, rotation=move.rotation)
        turns = whole_turns(exact, step)
        done = moved(upper, lower, turns)
        left_over = EndMove(move.fore_aft - done.fore_aft, move.rotation - done.rotation)
        plans.append(
            EndPlan(
                side,
                move,
                turns,
                exact,
                left_over,
                _outcome(on_sheet, side),
                bar - away * done.fore_aft,
                rotation + done.rotation,
            )
        )
    return plans


def _outcome(on_sheet: SheetFigures, side: str) -> FigureOutcome:
    """Of bar and carrier together. A bar without a target is still to be level with the other."""
    bar = on_sheet.outcome(BAR, side)
    if bar is FigureOutcome.NO_TARGET:
        return bar
    return worst((bar, on_sheet.outcome(ROTATION, side)))
