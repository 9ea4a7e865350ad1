"""Rods, block marks, lead and stagger as pages show them."""

from collections.abc import Sequence
from dataclasses import dataclass

from cars.catalogue.keys import Key
from cars.figures.formatting import SHAPES
from cars.figures.judgement import FigureOutcome, Judgement, reach_of
from cars.figures.prediction_format import (
    as_decimal,
    format_predicted,
    format_spread,
    format_turns,
)
from cars.mechanics.rods import EndMove
from cars.plans.presenters.strips import FigureThen, figure_then, strip_of
from cars.plans.queries.block_marks import SideMarks, Tried
from cars.plans.queries.lead import LeadFigures, is_straight
from cars.plans.queries.rods import BAR, ROTATION, EndPlan
from cars.plans.queries.sheet_figures import SheetFigures
from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.units import Units

NO_MOVE_MM, NO_MOVE_DEG = 0.2, 0.05


@dataclass(frozen=True, slots=True)
class RodCard:
    """One end of the axle."""

    side: str
    read: str
    wanted: str
    todo: list[str]
    turned: list[str]  # the same as the form sends it
    left_over: str
    leave: bool
    then: list[FigureThen]  # bar and carrier after the turns


def rod_cards(on_sheet: SheetFigures, plans: Sequence[EndPlan]) -> list[RodCard]:
    """Both ends in words."""
    return [
        RodCard(
            side=plan.side,
            read=_read(on_sheet, plan.side),
            wanted=_move(plan.wanted, on_sheet.units),
            todo=[
                f"{'Lengthen' if turns > 0 else 'Shorten'} the {name} rod by "
                f"{format_turns(abs(turns)).lstrip('+')}"
                for name, turns in plan.todo
            ],
            turned=[f"{plan.side}:{name}:{turns:g}" for name, turns in plan.todo],
            left_over=_move(plan.left_over, on_sheet.units),
            leave=plan.outcome is FigureOutcome.ON_TARGET,
            then=_then(on_sheet, plan),
        )
        for plan in plans
    ]


def _then(on_sheet: SheetFigures, plan: EndPlan) -> list[FigureThen]:
    """As the tape and the gauge should read them next, each within half a step."""
    figures = []
    for name, measure, value in (
        ("Bar to axle", BAR, plan.bar_then),
        ("Carrier", ROTATION, plan.rotation_then),
    ):
        key = Key(measure, plan.side)
        read = on_sheet.figures[key]
        now = float(read.value)
        figures.append(
            figure_then(
                name,
                on_sheet.known.measures[measure],
                on_sheet.units,
                on_sheet.targets.standards.get(key),
                value=now if plan.outcome is FigureOutcome.ON_TARGET else value,
                reach=float(read.reach or 0),
                before=now,
            )
        )
    return figures


def _read(on_sheet: SheetFigures, side: str) -> str:
    bar, rotation = on_sheet.value(BAR, side) or 0.0, on_sheet.value(ROTATION, side) or 0.0
    return (
        f"bar to axle {format_predicted(bar, Kind.LENGTH, on_sheet.units)}, "
        f"carrier {format_predicted(rotation, Kind.ANGLE, on_sheet.units)}"
    )


def _move(move: EndMove, units: Units) -> str:
    parts = []
    if abs(move.fore_aft) >= NO_MOVE_MM:
        way = "forward" if move.fore_aft > 0 else "back"
        parts.append(f"{_small(abs(move.fore_aft), units)} {way}")
    if abs(move.rotation) >= NO_MOVE_DEG:
        way = "forward" if move.rotation > 0 else "back"
        angle = format_predicted(abs(move.rotation), Kind.ANGLE, units)
        parts.append(f"top of the carrier {angle} {way}")
    return ", ".join(parts) or "nothing"


def _small(mm: float, units: Units) -> str:
    """A length finer than a tape's sixteenth."""
    return f"{mm / 25.4:.2f} in" if units.length in {"in", "ft"} else f"{mm:.1f} mm"


@dataclass(frozen=True, slots=True)
class MarkRow:
    """One setting of the blocks."""

    marks: str
    camber: str
    off: str
    caster: str
    read: str
    sent: Sequence[str]
    stands: bool
    state: str
    shape: str
    words: str
    strip: str


@dataclass(frozen=True, slots=True)
class SideCard:
    """One side of the car: what to set in a hand's words, then all that was tried."""

    side: str
    todo: str
    now: str
    target: str
    rows: list[MarkRow]
    advice: list[str]
    seen: str
    leave: bool
    state: str
    shape: str
    words: str


def side_cards(sides: Sequence[SideMarks]) -> list[SideCard]:
    """Both sides in words; angles are degrees to everybody."""
    return [_side(side) for side in sides]


def _side(marks: SideMarks) -> SideCard:
    rows = [
        MarkRow(
            marks=" / ".join(each.camber.marks),
            camber=f"{_degrees(each.camber.angle)} {_spread(each.camber.u)}",
            off=_degrees(each.camber.miss, sign=True),
            caster=(
                f"{_degrees(each.caster.angle)} {_spread(each.caster.u)}" if each.caster else "–"
            ),
            read=f"{each.camber.times_read}×" if each.camber.times_read else "not yet",
            sent=each.camber.marks,
            stands=each.stands,
            strip=_camber_strip(marks, each),
            **_verdict(each.outcome),
        )
        for each in marks.choices
    ]
    return SideCard(
        side=marks.side,
        todo=_todo(marks),
        now="not read" if marks.now is None else _degrees(marks.now),
        target="none" if marks.target is None else _degrees(marks.target),
        rows=rows,
        advice=_advice(marks),
        seen=marks.seen,
        leave=marks.leave,
        **_verdict(marks.outcome),
    )


def _todo(side: SideMarks) -> str:
    """'set 2 / 1', 'leave it'; empty where nothing is known that does better."""
    if side.leave:
        return "leave it"
    known = side.choices[0] if side.choices else None
    if known is None or known.stands:
        return ""
    return f"set {' / '.join(known.camber.marks)}"


def _camber_strip(side: SideMarks, tried: Tried) -> str:
    """What the marks are expected to give; the triangle is the camber as it is."""
    value, reach = tried.camber.angle, float(reach_of(as_decimal(tried.camber.u)))
    return strip_of(side.standard, Judgement(tried.outcome), value, reach, side.now)


def _verdict(outcome: FigureOutcome) -> dict[str, str]:
    """A verdict as state, shape and words; how far off stands in its own column."""
    if outcome is FigureOutcome.OFF:
        return {"state": "bad", "shape": "✕", "words": "off"}
    state, shape = SHAPES.get(outcome, ("none", "·"))
    return {"state": state, "shape": shape, "words": str(outcome)}


def _advice(side: SideMarks) -> list[str]:
    """What to do, the known marks first; reading another only where the chart is thin."""
    if side.leave:
        return ["The camber is on target: leave it."]
    advice = [side.why_not] if side.why_not else []
    if side.suggestion is None:
        return advice
    advice.append(_nearest(side.choices[0]))
    if not side.suggestion.within_reach:
        advice.append("The target lies outside what the settings read so far give.")
    if len(side.choices) == 1:
        advice.append("Only these marks were ever read here: set others, and note marks and gauge.")
    if side.measure_next:
        marks = " / ".join(side.measure_next)
        advice.append(f"To know these blocks better, read {marks} too: {side.suggestion.why}.")
    return advice


def _nearest(known: Tried) -> str:
    """'Set 2 / 1: it is expected to give 1.5° ± 0.2°.'"""
    marks, camber = " / ".join(known.camber.marks), known.camber
    gives = f"{_degrees(camber.angle)} {_spread(camber.u)}"
    if known.stands:
        return f"{marks}, as the blocks stand, is the nearest known: expected to give {gives}."
    if known.outcome is FigureOutcome.OFF:
        off = _degrees(camber.miss, sign=True)
        return f"{marks} is the nearest known: expected to give {gives}, still off by {off}."
    return f"Set {marks}: it is expected to give {gives}."


def _degrees(angle: float, *, sign: bool = False) -> str:
    rounded = round(angle, 1) + 0.0  # no minus before a zero
    return f"{rounded:{'+' if sign and rounded else ''}.1f}°".replace("-", "−")


def _spread(u: float) -> str:
    return format_spread(u, Kind.ANGLE, Units.imperial())


@dataclass(frozen=True, slots=True)
class CornerLine:
    """One figure against the corner."""

    name: str
    now: str
    wanted: str
    words: str


def corner_lines(on_sheet: SheetFigures, lead: LeadFigures) -> list[CornerLine]:
    """Lead, stagger and hands in words."""
    units = on_sheet.units
    lines = [
        CornerLine(
            "Lead",
            _length(lead.lead, units),
            _length(lead.lead_wanted, units),
            _alone(lead.lead_radius, units),
        )
    ]
    lines += [
        CornerLine(
            f"Stagger, {each.axle}",
            _length(each.stagger, units),
            _length(each.wanted, units),
            _alone(each.radius, units),
        )
        for each in lead.staggers
    ]
    if lead.hands is not None or lead.hands_read is not None:
        lines.append(CornerLine("Hands", _hands(lead.hands_read), "still", _left(lead.hands)))
    return lines


def _length(mm: float | None, units: Units) -> str:
    return "not read" if mm is None else format_predicted(mm, Kind.LENGTH, units)


def _alone(radius: float | None, units: Units) -> str:
    if radius is None:
        return ""
    if is_straight(radius):
        return "by itself runs straight"
    way = "left" if radius > 0 else "right"
    far = f"{abs(radius) / 304.8:.0f} ft" if units.length == "in" else f"{abs(radius) / 1e3:.1f} m"
    return f"by itself turns {way} on a radius of {far}"


def _hands(angle: float | None) -> str:
    return "not read" if angle is None else _turned(angle)


def _turned(angle: float) -> str:
    if abs(angle) < 0.5:
        return "straight"
    return f"{abs(angle):.0f}° {'left' if angle > 0 else 'right'}"


def _left(angle: float | None) -> str:
    return "" if angle is None else f"rolling, the hands are left to hold: {_turned(angle)}"
