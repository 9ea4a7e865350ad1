"""Figures and decisions in a sentence, in the reader's units."""

import math
from decimal import ROUND_CEILING, ROUND_FLOOR, Decimal

from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.uncertainty import Estimate, expanded
from clubsetup.quantities.units import Units
from clubsetup.quantities.writing import Shown, show, tell
from events.rules.decision import Decision, Outcome
from events.rules.facts import ScaleDoubt

_DOUBTS = {
    ScaleDoubt.UNCHECKED: "scales not checked that day",
    ScaleDoubt.FAILED: "scales failed their check that day",
}

# What '±' covers: that of k = 2 where u is well known, 2 Phi(2) - 1 (JCGM 100:2008, G.1.3).
COVERED = 0.9545
# Digits kept of a computed figure: finer than any tool, coarser than rounding noise.
_DIGITS = 8
_FINEST = 6
# What is left out of a figure beside its limit is at most this part of the gap.
_TELLING = 4


def format_figure(value: float | Decimal, kind: Kind, units: Units) -> str:
    """A figure with its unit, exact where it can be written so."""
    return _shown(value, kind, units).text


def format_gap(value: float, kind: Kind, units: Units) -> str:
    """As `format_figure`, with as many digits as it takes to tell the figure from nothing."""
    return _gap(value, kind, units).text


def format_apart(less: float, more: float, kind: Kind, units: Units) -> tuple[str, str]:
    """Two gaps, the second larger, with as many digits as it takes for it to read so too.

    0.2 lb and 0.2304 lb are '0.2 lb' and '0.23 lb', where each by itself would be '0.2 lb'.
    """
    near, far, places = _gap(less, kind, units), _gap(more, kind, units), 1
    while _value(near, less) >= more > less and places <= _FINEST:
        near, places = _decimal(less, kind, units, places), places + 1
    places = 1
    while more > less and _value(far, more) <= max(less, _value(near, less)) and places <= _FINEST:
        far, places = _decimal(more, kind, units, places), places + 1
    return near.text, far.text


def good_to(u: float, dof: float | None) -> float:
    """What '±' says of a figure: U, that it is right within so much in 95 of 100 cases.

    2 u where u is well known, more by Student's t where a few repeats gave it.
    """
    if not u:
        return 0.0
    if dof is None or math.isinf(dof):
        return 2.0 * u
    return expanded(Estimate(0.0, u, dof), COVERED)


def chance(probability: float) -> str:
    """A chance in tenths of a percent, rounded towards one half: never surer than it is.

    So it reads 97.7% from 0.977 on, where a guarded verdict is 'meets', and not before.
    """
    if probability > 0.999:
        return "over 99.9%"
    if probability < 0.001:
        return "under 0.1%"
    towards = ROUND_FLOOR if probability > 0.5 else ROUND_CEILING
    # The shortest decimal that is this number, so that 0.977 is not a hair under itself.
    tenths = (Decimal(repr(float(probability))) * 100).quantize(Decimal("0.1"), towards)
    return f"{tenths}%"


def format_band(low: Decimal | None, high: Decimal | None, kind: Kind, units: Units) -> str:
    """'at least 52%', 'at most 58%', 'from 52% to 58%' or 'exactly 55%'."""
    if low is not None and high is not None:
        if low == high:
            return f"exactly {format_figure(low, kind, units)}"
        return f"from {format_figure(low, kind, units)} to {format_figure(high, kind, units)}"
    if low is not None:
        return f"at least {format_figure(low, kind, units)}"
    return "" if high is None else f"at most {format_figure(high, kind, units)}"


def decision_sentence(
    decision: Decision, kind: Kind, units: Units, doubt: ScaleDoubt = ScaleDoubt.NONE
) -> str:
    """What was read, by how much it is inside or outside, and how sure that is."""
    value, limit = (
        format_near_limit(decision.value, decision.margin, kind, units),
        format_figure(decision.limit, kind, units),
    )
    bound = f"the {'least' if decision.side == 'lower' else 'most'} allowed, {limit}"
    gap, clear = format_gap(abs(decision.margin), kind, units), ""
    if decision.outcome is Outcome.TOO_CLOSE and math.isfinite(decision.guard):
        gap, clear = format_apart(abs(decision.margin), decision.guard, kind, units)
    where = f"{value} is exactly {bound}"
    if decision.margin:
        over = (decision.side == "lower") == (decision.margin > 0)
        where = f"{value} is {gap} {'over' if over else 'under'} {bound}"
    return f"{where}{_undecided(decision, clear)}.{_sureness(decision, kind, units, doubt)}"


def _undecided(decision: Decision, clear: str) -> str:
    """Why it is too close, or fails without lying outside, and what to do."""
    if math.isinf(decision.guard):
        return ", and what it is read with cannot tell limits so near each other; take a finer tool"
    if decision.outcome is Outcome.TOO_CLOSE:
        return f", closer than the {clear} it must clear it by; take it again"
    return ""


def format_near_limit(value: float, margin: float, kind: Kind, units: Units) -> str:
    """The figure, with as many digits as it takes to see on which side of its limit it lies."""
    shown, places = _shown(value, kind, units), 1
    gap = Decimal(abs(margin)) / _TELLING
    while gap and abs(shown.remainder) > gap and places <= _FINEST:
        shown, places = _decimal(value, kind, units, places), places + 1
    return shown.text


def _sureness(decision: Decision, kind: Kind, units: Units, doubt: ScaleDoubt) -> str:
    within, margin = good_to(decision.u, decision.dof), abs(decision.margin)
    gap = format_gap(within, kind, units)
    if decision.outcome is Outcome.TOO_CLOSE and within > margin:
        gap = format_apart(margin, within, kind, units)[1]
    if doubt:
        source = "the display" if math.isinf(decision.dof) else "the day's repeats"
        display = f" At least ±{gap} from {source} alone;" if decision.u else ""
        return f"{display} {_DOUBTS[doubt]}: no chance is given."
    if decision.u == 0:
        return ""
    return f" Good to ±{gap}; chance that it meets: {chance(decision.probability)}."


def _gap(value: float, kind: Kind, units: Units) -> Shown:
    shown, places = _shown(value, kind, units), 1
    while value and shown.remainder == _exact(value) and places <= _FINEST:
        shown, places = _decimal(value, kind, units, places), places + 1
    return shown


def _value(shown: Shown, value: float) -> float:
    """The figure that stands there, in canonical units."""
    return float(_exact(value) - shown.remainder)


def _decimal(value: float, kind: Kind, units: Units, places: int) -> Shown:
    unit = units.for_kind(kind)
    return show(_exact(value), kind, unit=unit, style="decimal", places=places)


def _exact(value: float | Decimal) -> Decimal:
    return value if isinstance(value, Decimal) else Decimal(repr(round(value, _DIGITS)))


def _shown(value: float | Decimal, kind: Kind, units: Units) -> Shown:
    return tell(_exact(value), kind, unit=units.for_kind(kind))
