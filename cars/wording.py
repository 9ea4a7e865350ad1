"""Figures as the person looking reads them."""

from decimal import Decimal
from functools import lru_cache

from cars.adjusters import MARKS_SET
from cars.judgement import Judgement, Outcome
from cars.models import Change, Measure, Spot
from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.units import Units
from clubsetup.quantities.writing import show

# Enough for the pages of a busy evening; writing a figure is pure.
_KEPT = 16_384
# Shares come from a division and have no last digit of their own.
_PLACES = {Kind.PERCENT: 1}


@lru_cache(maxsize=_KEPT)
def written(
    value: Decimal, kind: str, unit: str, *, delta: bool = False, bare: bool = False
) -> str:
    """The canonical value in that unit, 'about' where it is not exactly so; `bare` without unit."""
    known = Kind(kind)
    shown = show(value, known, unit=unit, delta=delta, places=_PLACES.get(known))
    text = (shown.bare if bare else shown.text).replace("-", "−", 1)
    return text if shown.exact or known in _PLACES else f"about {text}"


def say(
    value: Decimal, measure: Measure, units: Units, *, delta: bool = False, bare: bool = False
) -> str:
    """A figure of the measure in the person's units."""
    unit = units.for_kind(Kind(measure.kind))
    return written(value, measure.kind, unit, delta=delta, bare=bare)


def way(measure: Measure, judgement: Judgement) -> str:
    """Which way a figure misses, in the measure's own words: high, soft, to the left."""
    more, less = measure.more_less or ("more", "less")
    return more if judgement.is_more else less


SHAPES = {
    Outcome.ON_TARGET: ("good", "✓"),
    Outcome.TOO_CLOSE: ("close", "≈"),
    Outcome.NOT_TAKEN: ("none", "○"),
    Outcome.NO_TARGET: ("none", "·"),
}


@lru_cache(maxsize=_KEPT)
def off_by(miss: Decimal, kind: str, unit: str, word: str) -> str:
    """'off by 1/16 in, high'."""
    return f"off by {written(abs(miss), kind, unit, delta=True)}, {word}"


def verdict(measure: Measure, judgement: Judgement, units: Units) -> tuple[str, str, str]:
    """A judgement as a state's class, its shape, and its words."""
    if judgement.outcome is Outcome.OFF:
        unit = units.for_kind(Kind(measure.kind))
        words = off_by(judgement.miss, measure.kind, unit, way(measure, judgement))
        return "bad", "▲" if judgement.is_more else "▼", words
    state, shape = SHAPES[judgement.outcome]
    words = "noted" if judgement.outcome is Outcome.NO_TARGET else str(judgement.outcome)
    return state, shape, words


def change_said(change: Change) -> str:
    """'spring seat LF +1/2 turn'."""
    what = change.adjuster.replace("-", " ")
    where = "" if change.spot == Spot.CAR else f" {change.spot}"
    if change.unit == MARKS_SET:
        return f"{what}{where} set anew"
    number = show(change.amount, Kind.TURNS, unit="turn", sign=True)
    unit = number.suffix.strip() if change.unit == "turn" else change.unit
    return f"{what}{where} {number.bare.replace('-', '−')} {unit if unit != '1' else ''}".strip()
