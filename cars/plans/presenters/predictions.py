"""Predicted figures by box: their reach, and what they are to their targets."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from decimal import Decimal

from cars.catalogue.keys import Key
from cars.figures.judgement import FigureOutcome, Judgement, Standard, judge, reach_of, worst
from cars.figures.prediction_format import as_decimal
from cars.mechanics import CORNER_NAMES, shares
from cars.mechanics.linear_response import Prediction
from cars.mechanics.turnplan import TurnPlan
from cars.plans.presenters.display_context import PlanDisplayContext
from cars.plans.queries.turns import CROSS, PERCENT, TurnTable


@dataclass(frozen=True, slots=True)
class Predicted:
    """One figure, canonical: what it was, what it is expected to read, how far that may be off.

    Where nothing is turned it is the figure that stands, with the reach that it has there.
    """

    key: Key
    before: float
    value: Decimal
    reach: Decimal
    standard: Standard | None
    judgement: Judgement


def predicted_figures(frame: PlanDisplayContext, what: Prediction) -> dict[Key, Predicted]:
    """Weights, ride heights and shares, each judged as the sheet judges its figures."""
    standing = {} if any(what.turns) else frame.standing
    return {
        key: _predicted(frame, key, before, standing.get(key) or (as_decimal(after), as_decimal(u)))
        for key, before, after, u in _rows(what)
    }


def _predicted(
    frame: PlanDisplayContext, key: Key, before: float, after: tuple[Decimal, Decimal]
) -> Predicted:
    (value, reach), wanted = after, frame.standards.get(key)
    judged = judge(value, wanted.target, wanted.tolerance, reach) if wanted else judge(value, None)
    return Predicted(key, before, value, reach, wanted, judged)


def _rows(what: Prediction) -> Iterator[tuple[Key, float, float, float]]:
    """Box, figure before and after, and its reach."""
    for measure, before, after, u in (
        ("weight", what.loads_before, what.loads, what.u_loads),
        ("ride-height", what.heights_before, what.heights, what.u_heights),
    ):
        if before is not None and after is not None:
            for place, corner in enumerate(CORNER_NAMES):
                yield Key(measure, corner), before[place], after[place], _reach(u[place])
    now = shares(what.loads_before)
    for measure, was, share, u_share in (
        ("cross", now.cross, what.cross, what.u_cross),
        ("left-share", now.left, what.left, what.u_left),
        ("rear-share", now.rear, what.rear, what.u_rear),
    ):
        yield Key(measure, "car"), PERCENT * was, PERCENT * share, _reach(PERCENT * u_share)


def _reach(u: float) -> float:
    return float(reach_of(as_decimal(u)))


@dataclass(frozen=True, slots=True)
class Reached:
    """What a plan comes to: the worst of what it aims at, and in words what is not on target."""

    outcome: FigureOutcome
    why_not: str
    missed: Predicted | None = None  # the furthest off, in parts of its tolerance
    lifted: tuple[str, ...] = ()  # corners that would come off their pad


def reached(table: TurnTable, plan: TurnPlan, predicted: Mapping[Key, Predicted]) -> Reached:
    """Judged by the predictions with their reach, and not by their middles."""
    outcomes = {key: predicted[key].judgement.outcome for key in table.aimed}
    outcome = worst(outcomes.values())
    off = [_name(key) for key, each in outcomes.items() if each is FigureOutcome.OFF]
    short = plan.shortfall
    if short is not None and (off or short.lifted):
        why_not = str(replace(short, targets=tuple(off)))
        return Reached(FigureOutcome.OFF, why_not, _furthest(predicted, outcomes), short.lifted)
    if off:
        why_not = f"{', '.join(off)} out of tolerance"
        return Reached(outcome, why_not, _furthest(predicted, outcomes))
    close = [_name(key) for key, each in outcomes.items() if each is FigureOutcome.TOO_CLOSE]
    why = f"{', '.join(close)} too close to tell: weigh and measure again" if close else ""
    return Reached(outcome, why)


def _furthest(
    predicted: Mapping[Key, Predicted], outcomes: Mapping[Key, FigureOutcome]
) -> Predicted | None:
    """The one off by most of its tolerance; where nothing may be off, by most at all."""
    off = (predicted[key] for key, each in outcomes.items() if each is FigureOutcome.OFF)
    return max(off, key=_parts_off, default=None)


def _parts_off(figure: Predicted) -> tuple[Decimal, Decimal]:
    miss, tolerance = (
        abs(figure.judgement.miss),
        figure.standard.tolerance if figure.standard else 0,
    )
    return (miss / tolerance if tolerance else miss, miss)


def _name(key: Key) -> str:
    return "cross" if key == CROSS else f"height {key.spot}"
