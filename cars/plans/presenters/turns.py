"""Plans and predictions as a page shows them: figures in the reader's units, with their spread."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from cars.figures.formatting import format_value, format_verdict
from cars.figures.judgement import FigureOutcome
from cars.figures.prediction_format import (
    format_predicted,
    format_reach,
    format_spread,
    format_turns,
)
from cars.mechanics import CORNER_NAMES, Corners
from cars.mechanics.calibration import COVERAGE_95
from cars.mechanics.linear_response import Prediction
from cars.mechanics.turnplan import TurnPlan
from cars.models import Plan
from cars.plans.presenters.display_context import PlanDisplayContext, plan_display_context
from cars.plans.presenters.predictions import Predicted, Reached, predicted_figures, reached
from cars.plans.presenters.strips import strip_of
from cars.plans.queries.calibration import Calibration, TurnPlanOutcome
from cars.plans.queries.turns import CROSS, PERCENT, TurnTable, predict_turns
from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.units import Units

COUNTS = ("", "One corner", "Two corners", "Three corners", "Four corners")
# A weighing this many standard uncertainties from its prediction is news.
UNUSUAL = 3.0
STAYS = "stays"
SHARES = {"cross": "Cross", "left-share": "Left side %", "rear-share": "Rear"}


@dataclass(frozen=True, slots=True)
class PredictionLine:
    """One predicted figure beside what it is now and what it should be."""

    name: str
    before: str
    after: str
    spread: str
    target: str = ""
    state: str = ""
    shape: str = ""
    words: str = ""
    strip: str = ""


@dataclass(frozen=True, slots=True)
class Forecast:
    """A prediction with its cautions."""

    weights: list[PredictionLine]
    heights: list[PredictionLine]
    shares: list[PredictionLine]
    cautions: list[str]

    @property
    def cross(self) -> PredictionLine:
        """The share everything turns about."""
        return self.shares[0]

    @property
    def groups(self) -> list[tuple[str, list[PredictionLine]]]:
        """All figures, under their headings."""
        groups = [("Weight", self.weights), ("Height", self.heights), ("Share", self.shares)]
        return [(name, lines) for name, lines in groups if lines]


@dataclass(frozen=True, slots=True)
class PlanCard:
    """One plan: what to turn, in which order, and what comes of it."""

    name: str
    values: str  # the four turns, as the form sends them
    by_hand: list[tuple[str, str]]  # corner, '1 1/4 turns down'
    moves: list[str]
    forecast: Forecast
    off: str  # what is not on target, or nothing
    left_over: str
    state: str
    shape: str
    words: str
    best: bool = False


def forecast(frame: PlanDisplayContext, what: Prediction) -> Forecast:
    """The figures of a prediction in words."""
    found = predicted_figures(frame, what)
    lines = {key: _line(frame, figure) for key, figure in found.items()}

    def of(*measures: str) -> list[PredictionLine]:
        return [line for key, line in lines.items() if key.measure in measures]

    return Forecast(
        weights=of("weight"),
        heights=of("ride-height"),
        shares=of(*SHARES),
        cautions=_cautions(what),
    )


@dataclass(frozen=True, slots=True)
class WhatIfCorner:
    """A corner with its slider and what is predicted there."""

    name: str
    value: str
    text: str
    lines: list[PredictionLine]


def what_if_corners(turns: Sequence[Decimal], forecast: Forecast | None) -> list[WhatIfCorner]:
    """The four corners of 'what if'."""
    columns = [forecast.weights, forecast.heights] if forecast else []
    return [
        WhatIfCorner(
            name=corner,
            value=f"{turned:f}",
            text=format_turns(float(turned)) if turned else STAYS,
            lines=[lines[place] for lines in columns if lines],
        )
        for place, (corner, turned) in enumerate(zip(CORNER_NAMES, turns, strict=True))
    ]


def _line(frame: PlanDisplayContext, figure: Predicted) -> PredictionLine:
    units, measure = frame.units, frame.measures[figure.key.measure]
    kind = Kind(measure.kind)
    target = state = shape = words = ""
    if figure.standard is not None:
        state, shape, words = format_verdict(measure, figure.judgement, units)
        target = format_predicted(float(figure.standard.target), kind, units)
    return PredictionLine(
        name=SHARES.get(figure.key.measure, figure.key.spot),
        before=format_predicted(figure.before, kind, units),
        after=format_predicted(float(figure.value), kind, units),
        spread=format_reach(float(figure.reach), kind, units) if figure.reach else "",
        target=target,
        state=state,
        shape=shape,
        words=words,
        strip=strip_of(
            figure.standard, figure.judgement, figure.value, figure.reach, figure.before
        ),
    )


def _cautions(what: Prediction) -> list[str]:
    cautions = []
    if what.lifted:
        cautions.append(f"{_and(what.lifted)} would come off the pad: nothing of this holds then.")
    if what.beyond:
        cautions.append(f"There is not that much thread at {_and(what.beyond)}.")
    return cautions


def _and(names: Sequence[str]) -> str:
    return " and ".join(names)


def turn_notes(table: TurnTable) -> list[str]:
    """What a plan leaves out and goes by; nothing where none can be made."""
    if table.missing:
        return []
    on_sheet, notes = table.on_sheet, []
    if table.heights is None:
        notes.append(f"Only cross is planned. {on_sheet.lacking('ride-height')}")
    if table.target is None:
        notes.append(
            "There is no target for cross or ride heights: give the sheet a baseline, or write "
            "the cross you want."
        )
    if not on_sheet.springs_noted:
        notes.append("No spring is noted on this sheet: the chassis page's rates are used.")
    if table.calibration and table.calibration.trouble:
        notes.append(table.calibration.trouble)
    return notes


def plan_cards(table: TurnTable, plans: Sequence[TurnPlan]) -> list[PlanCard]:
    """The plans worth showing: one that turns no more corners than the one before is left out.

    The best is the first that is on target for certain, else the first whose predicted figures
    themselves lie within their tolerances.
    """
    worth: dict[Corners, tuple[TurnPlan, Prediction, Reached]] = {}
    for plan in plans:
        if plan.turns not in worth and plan.adjusters:
            what = predict_turns(table, plan.turns)
            found = predicted_figures(plan_display_context(table), what)
            worth[plan.turns] = plan, what, reached(table, plan, found)
    best = _best([(plan, to) for plan, _, to in worth.values()])
    return [_card(table, *each, best=each[0] is best) for each in worth.values()]


def _best(plans: Sequence[tuple[TurnPlan, Reached]]) -> TurnPlan | None:
    sure = (plan for plan, to in plans if to.outcome is FigureOutcome.ON_TARGET)
    near = (
        plan for plan, to in plans if plan.shortfall is None and to.outcome != FigureOutcome.OFF
    )
    return next(sure, None) or next(near, None)


def _card(
    table: TurnTable, plan: TurnPlan, what: Prediction, to: Reached, *, best: bool
) -> PlanCard:
    state, shape, words = VERDICTS[to.outcome]
    if to.outcome is FigureOutcome.OFF:
        words = _missed(table, to)
    return PlanCard(
        name=COUNTS[plan.adjusters],
        values=",".join(f"{turns:g}" for turns in plan.turns),
        by_hand=[
            (corner, format_by_hand(turns))
            for corner, turns in zip(CORNER_NAMES, plan.turns, strict=True)
            if turns
        ],
        moves=[f"{move.corner} {format_turns(move.turns)}" for move in plan.moves],
        forecast=forecast(plan_display_context(table), what),
        off=to.why_not,
        left_over=_left_over(plan),
        state=state,
        shape=shape,
        words=words,
        best=best,
    )


def format_by_hand(turns: float) -> str:
    """'1 1/4 turns down': which way the seat is wound on its spring; down lifts the corner."""
    return f"{format_turns(abs(turns)).lstrip('+')} {'down' if turns > 0 else 'up'}"


VERDICTS = {
    FigureOutcome.ON_TARGET: ("good", "✓", "reaches every target"),
    FigureOutcome.TOO_CLOSE: ("close", "≈", "too close to tell"),
    FigureOutcome.OFF: ("bad", "✕", "misses a target"),
    FigureOutcome.NO_TARGET: ("none", "·", "no target"),
}


def _missed(table: TurnTable, to: Reached) -> str:
    """'misses RF height by 1/16 in': the furthest off, and what lifts before anything else."""
    if to.lifted:
        return f"lifts {_and(to.lifted)}"
    if to.missed is None:
        return VERDICTS[FigureOutcome.OFF][2]
    key, kind = to.missed.key, Kind(table.on_sheet.known.measures[to.missed.key.measure].kind)
    unit = table.on_sheet.units.for_kind(kind)
    by = format_value(abs(to.missed.judgement.miss), kind, unit, delta=True)
    return f"misses {'cross' if key == CROSS else f'{key.spot} height'} by {by}"


LEAST_SAID, TENTH = 0.05, 0.17  # parts of a tolerance
_PARTS = (
    *((0.29, "a quarter of its tolerance"), (0.42, "a third of its tolerance")),
    *((0.58, "half its tolerance"), (0.71, "two thirds of its tolerance")),
    *((0.9, "three quarters of its tolerance"), (1.05, "its whole tolerance")),
)


def _left_over(plan: TurnPlan) -> str:
    """'Furthest off after it: cross, by a third of its tolerance'."""
    worst = max(plan.misses, key=lambda miss: abs(miss.tolerances), default=None)
    off = abs(worst.tolerances) if worst else 0.0
    if worst is None or off < LEAST_SAID:
        return "Next to nothing stays off after it"
    part = next((words for most, words in _PARTS if off < most), f"{off:.1f} times its tolerance")
    by = "a tenth of its tolerance" if off < TENTH else part
    return f"Furthest off after it: {worst.target}, by {by}"


RATES = ("Front springs", "Rear springs", "Tyres", "Seat travel per turn")


def format_rates(calibration: Calibration) -> list[tuple[str, str]]:
    """'Front springs: × 1.04 ± 6%', times what the chassis page says."""
    if calibration.calibrated is None:
        return []
    rates = zip(
        RATES, calibration.calibrated.multipliers, calibration.calibrated.u_log, strict=True
    )
    return [(name, f"× {value:.2f} ± {PERCENT * COVERAGE_95 * u:.0f}%") for name, value, u in rates]


@dataclass(frozen=True, slots=True)
class PlanReport:
    """A plan that was accepted, against the scales."""

    plan: Plan
    turned: list[str]
    lines: list[PredictionLine]
    state: str
    shape: str
    words: str


def plan_report(units: Units, plan: Plan, outcome: TurnPlanOutcome) -> PlanReport:
    """Predicted beside weighed, and what to make of it."""
    turned = zip(CORNER_NAMES, plan.turns, strict=True)
    state, shape, words = _made_of(outcome)
    return PlanReport(
        plan=plan,
        turned=[f"{corner} {format_turns(float(turns))}" for corner, turns in turned if turns],
        lines=_against(units, plan, outcome.weighed.loads),
        state=state,
        shape=shape,
        words=words,
    )


def _against(units: Units, plan: Plan, weighed: Corners | None) -> list[PredictionLine]:
    read: list[float | None] = [None] * 5
    if weighed is not None:
        read = [*weighed, PERCENT * (weighed.rf + weighed.lr) / sum(weighed)]
    was = [*plan.loads_before, PERCENT * plan.cross_before]
    predicted = [*plan.loads, PERCENT * plan.cross]
    spreads = [*plan.u_loads, PERCENT * plan.u_cross]
    kinds = [Kind.MASS] * 4 + [Kind.PERCENT]
    return [
        PredictionLine(
            name=name,
            before=format_predicted(before, kind, units),
            after=format_predicted(value, kind, units),
            spread=format_spread(of, kind, units),
            words="" if scales is None else format_predicted(scales, kind, units),
            state=_state(value, scales, of),
        )
        for name, kind, before, value, of, scales in zip(
            (*CORNER_NAMES, "Cross"), kinds, was, predicted, spreads, read, strict=True
        )
    ]


def _state(value: float, scales: float | None, u: float) -> str:
    if scales is None:
        return ""
    return "bad" if abs(scales - value) > UNUSUAL * u else "good"


def _made_of(outcome: TurnPlanOutcome) -> tuple[str, str, str]:
    if outcome.weighed.spoilt is not None:
        return "none", "·", "something else was changed before it was weighed: nothing learned"
    if outcome.is_pending:
        return "again", "↻", "weigh again"
    if outcome.fit is not None and outcome.fit.flagged:
        return "bad", "✕", f"does not fit the rest: check {outcome.fit.suspect}, then weigh again"
    if outcome.other_springs:
        return "none", "·", "other springs since: kept, not used"
    if outcome.is_learned:
        return "good", "✓", "learned"
    return "none", "·", "kept, not used"
