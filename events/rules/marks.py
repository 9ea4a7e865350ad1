"""The weight marked on a piece of ballast against what it weighs, in words."""

import math
from collections.abc import Sequence
from decimal import Decimal

from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.units import Units
from events.rules.decision import Decision
from events.rules.facts import PieceSeen
from events.rules.rule_text import format_apart, format_figure

# How true a marked weight must be where a club has not said: a mark rounded to the half pound is
# off by so much at most. Our judgement; a club may set another.
TRUE_TO = Decimal("0.45359237") / 4


def untrue_marks(pieces: Sequence[PieceSeen], units: Units) -> str:
    """A sentence on the pieces whose weight is not what is marked; empty where there is none.

    For rules that set no tolerance: no outcome, but nobody is told 'marked with its weight' of a
    piece that weighs twice that.
    """
    off = [piece for piece in pieces if _is_untrue(piece)]
    if not off:
        return ""
    piece = max(off, key=_untruth)
    weighs = piece.weighed_mass.value if piece.weighed_mass else 0.0
    true, marked = (
        format_figure(one, Kind.MASS, units) for one in (weighs, piece.marked_mass or 0.0)
    )
    more = f"; {len(off) - 1} more like it" if len(off) > 1 else ""
    return (
        f" {piece.name}: marked {marked}, weighs {true}{more}. "
        "These rules do not say how true a marked weight must be."
    )


def too_close(decision: Decision, units: Units) -> str:
    """Why it cannot be told whether a marking is true enough."""
    if math.isinf(decision.guard):
        return "The scale cannot tell so small a tolerance"
    near = format_apart(abs(decision.margin), decision.guard, Kind.MASS, units)[1]
    return f"Within {near} of what is allowed"


def _untruth(piece: PieceSeen) -> float:
    """How far the weight is from what is marked, kg; nothing where either is not known."""
    if piece.marked_mass is None or piece.weighed_mass is None:
        return 0.0
    return abs(piece.weighed_mass.value - piece.marked_mass)


def _is_untrue(piece: PieceSeen) -> bool:
    """Whether it is worth a word: off by more than a club that sets a tolerance would begin with,
    and by more than the bench scale may be wrong."""
    u = piece.weighed_mass.u if piece.weighed_mass else 0.0
    return _untruth(piece) > max(float(TRUE_TO), 2.0 * u)
