"""Figures and decisions in a sentence, in the reader's units."""

from decimal import Decimal

from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.units import Units
from clubsetup.quantities.writing import Shown, show, tell
from events.rules.decision import Decision, Outcome
from events.rules.facts import ScaleDoubt

_DOUBTS = {
    ScaleDoubt.UNCHECKED: "scales not checked that day",
    ScaleDoubt.FAILED: "scales failed their check that day",
}

# Digits kept of a computed figure: finer than any tool, coarser than rounding noise.
_DIGITS = 8
_FINEST = 6
# What is left out of a figure beside its limit is at most this part of the gap.
_TELLING = 4


def say(value: float | Decimal, kind: Kind, units: Units) -> str:
    """A figure with its unit, exact where it can be written so."""
    return _shown(value, kind, units).text


def say_gap(value: float, kind: Kind, units: Units) -> str:
    """As `say`, with as many digits as it takes to tell the figure from nothing."""
    shown = _shown(value, kind, units)
    places = 1
    while value and shown.remainder == _exact(value) and places <= _FINEST:
        shown = show(_exact(value), kind, unit=units.for_kind(kind), style="decimal", places=places)
        places += 1
    return shown.text


def say_band(low: Decimal | None, high: Decimal | None, kind: Kind, units: Units) -> str:
    """'at least 52%', 'at most 58%', 'from 52% to 58%' or 'exactly 55%'."""
    if low is not None and high is not None:
        if low == high:
            return f"exactly {say(low, kind, units)}"
        return f"from {say(low, kind, units)} to {say(high, kind, units)}"
    if low is not None:
        return f"at least {say(low, kind, units)}"
    return "" if high is None else f"at most {say(high, kind, units)}"


def say_decision(
    decision: Decision, kind: Kind, units: Units, doubt: ScaleDoubt = ScaleDoubt.NONE
) -> str:
    """What was read, by how much it is inside or outside, and how sure that is."""
    value, limit = _say_beside(decision, kind, units), say(decision.limit, kind, units)
    bound = f"the {'least' if decision.side == 'lower' else 'most'} allowed, {limit}"
    where = f"{value} is exactly {bound}"
    if decision.margin:
        over = (decision.side == "lower") == (decision.margin > 0)
        gap = say_gap(abs(decision.margin), kind, units)
        where = f"{value} is {gap} {'over' if over else 'under'} {bound}"
    if decision.outcome is Outcome.TOO_CLOSE:
        where += f", closer than the {say_gap(decision.guard, kind, units)} it must clear it by"
        where += "; take it again"
    return f"{where}.{_sureness(decision, kind, units, doubt)}"


def _say_beside(decision: Decision, kind: Kind, units: Units) -> str:
    """The figure, with as many digits as it takes to see on which side of its limit it lies."""
    shown, places = _shown(decision.value, kind, units), 1
    gap = Decimal(abs(decision.margin)) / _TELLING
    while gap and abs(shown.remainder) > gap and places <= _FINEST:
        exact, unit = _exact(decision.value), units.for_kind(kind)
        shown = show(exact, kind, unit=unit, style="decimal", places=places)
        places += 1
    return shown.text


def _sureness(decision: Decision, kind: Kind, units: Units, doubt: ScaleDoubt) -> str:
    good_to = say_gap(2.0 * decision.u, kind, units)
    if doubt:
        display = f" At least ±{good_to} from the display alone;" if decision.u else ""
        return f"{display} {_DOUBTS[doubt]}: no chance is given."
    if decision.u == 0:
        return ""
    return f" Good to ±{good_to}; chance that it meets: {_percent(decision.probability)}."


def _percent(probability: float) -> str:
    if probability > 0.999:
        return "over 99.9%"
    return "under 0.1%" if probability < 0.001 else f"{100.0 * probability:.1f}%"


def _exact(value: float | Decimal) -> Decimal:
    return value if isinstance(value, Decimal) else Decimal(repr(round(value, _DIGITS)))


def _shown(value: float | Decimal, kind: Kind, units: Units) -> Shown:
    return tell(_exact(value), kind, unit=units.for_kind(kind))
