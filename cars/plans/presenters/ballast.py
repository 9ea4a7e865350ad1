"""Ballast plans as a page shows them."""

from collections.abc import Sequence
from dataclasses import dataclass
from uuid import UUID

from cars.catalogue.keys import Key
from cars.figures.judgement import reach_of
from cars.figures.prediction_format import as_decimal, format_predicted, format_spread
from cars.mechanics import CORNER_NAMES, Corners
from cars.mechanics.ballastplan import BallastPlan, Handling
from cars.models import Change
from cars.plans.presenters.strips import FigureThen, figure_then, weight_strip
from cars.plans.queries.ballast import PERCENT, Stock
from cars.plans.queries.sheet_figures import SheetFigures
from clubsetup.quantities.kinds import Kind

NEARLY = 1e-6  # kg


@dataclass(frozen=True, slots=True)
class BallastCard:
    """One plan: what to do with which piece, and what the scales should say then."""

    todo: list[str]
    moves: list[str]  # as the form sends them
    asks: list[tuple[UUID, str]]  # pieces marked for another car
    weight: str
    u_weight: str
    over: str
    risk: str
    is_legal: bool
    least: str  # the minimum with its margin
    strip: str  # the weight against that
    shares: list[FigureThen]
    heights: str
    notes: list[str]


def ballast_cards(
    on_sheet: SheetFigures, stock: Stock, plans: Sequence[BallastPlan], driver: float
) -> list[BallastCard]:
    """The plans in words, best first; ``driver`` kg come with the driver at the weighing."""
    return [_card(on_sheet, stock, plan, driver) for plan in plans]


def _card(on_sheet: SheetFigures, stock: Stock, plan: BallastPlan, driver: float) -> BallastCard:
    units = on_sheet.units
    return BallastCard(
        todo=[_instruction(handling, stock) for handling in plan.handling],
        moves=[
            f"{stock.piece(each.piece)}:{stock.mount(each.after) or ''}" for each in plan.handling
        ],
        asks=_asks(plan, stock),
        weight=format_predicted(plan.weight + driver, Kind.MASS, units),
        u_weight=format_spread(plan.u_weight, Kind.MASS, units),
        over=_over(plan.over, on_sheet),
        risk=_risk(plan.under),
        is_legal=plan.excess >= -NEARLY,
        least=format_predicted(_least(plan, driver), Kind.MASS, units),
        strip=_strip(plan, driver),
        shares=[
            _share(on_sheet, name, measure, value, u)
            for name, measure, value, u in (
                ("Left side %", "left-share", plan.now.left, plan.now.u_left),
                ("Rear", "rear-share", plan.now.rear, plan.now.u_rear),
                ("Cross", "cross", plan.now.cross, plan.now.u_cross),
            )
        ],
        heights=_heights(plan.height_change, on_sheet),
        notes=_notes(plan),
    )


def _asks(plan: BallastPlan, stock: Stock) -> list[tuple[UUID, str]]:
    going_on = [stock.piece(each.piece) for each in plan.handling if each.after is not None]
    elsewhere = stock.marked_elsewhere
    return [(piece, elsewhere[piece]) for piece in going_on if piece in elsewhere]


def _share(on_sheet: SheetFigures, name: str, measure: str, share: float, u: float) -> FigureThen:
    return figure_then(
        name,
        on_sheet.known.measures[measure],
        on_sheet.units,
        on_sheet.targets.standards.get(Key(measure, "car")),
        value=PERCENT * share,
        reach=float(reach_of(as_decimal(PERCENT * u))),
        before=on_sheet.value(measure, "car"),
    )


def _strip(plan: BallastPlan, driver: float) -> str:
    return weight_strip(
        plan.weight + driver,
        reach=float(reach_of(as_decimal(plan.u_weight))),
        least=_least(plan, driver),
        is_legal=plan.excess >= -NEARLY,
    )


def _least(plan: BallastPlan, driver: float) -> float:
    """The minimum with its margin, as the scales would read it."""
    return plan.weight + driver - plan.excess


def _instruction(handling: Handling, stock: Stock) -> str:
    row = stock.pieces[handling.piece]
    piece = f"the {row.marked_mass_typed} piece marked {row.label}"
    if handling.before is None:
        return f"Fit {piece} at {handling.after}"
    if handling.after is None:
        return f"Take {piece} off {handling.before}"
    return f"Move {piece} from {handling.before} to {handling.after}"


def _over(over: float, on_sheet: SheetFigures) -> str:
    amount = format_predicted(abs(over), Kind.MASS, on_sheet.units)
    return f"{amount} {'over' if over >= 0 else 'under'} the minimum"


def _risk(under: float) -> str:
    """The probability of being under the minimum, as people say it."""
    if under < 0.001:
        return "less than 1 in 1000 to be under"
    if under > 0.5:
        return f"{100 * under:.0f}% likely to be under"
    return f"about 1 in {1 / under:.0f} to be under"


def _heights(change: Corners, on_sheet: SheetFigures) -> str:
    corner, largest = max(zip(CORNER_NAMES, change, strict=True), key=lambda each: abs(each[1]))
    most = format_predicted(abs(largest), Kind.LENGTH, on_sheet.units)
    if abs(largest) < 0.4 or most == format_predicted(0.0, Kind.LENGTH, on_sheet.units):
        return ""
    way = "lower" if largest < 0 else "higher"
    return f"{corner} moves most: it will stand {most} {way}."


def _notes(plan: BallastPlan) -> list[str]:
    notes = []
    if plan.unusable:
        notes.append(f"No mount can hold {', '.join(plan.unusable)}.")
    if not plan.proven:
        notes.append("There may be a slightly nearer placing: the time to look for it ran out.")
    return notes


def format_fitted(change: Change) -> str:
    """'the 12 lb piece marked 7 at Left rail', of what was noted last."""
    row = change.piece
    piece = f"the {row.marked_mass_typed} piece marked {row.label}" if row else "a piece"
    if change.now_at is None:
        return f"{piece}, taken off {change.was_at}" if change.was_at else f"{piece}, taken off"
    return f"{piece} at {change.now_at}"
