"""Figures as the person looking reads them."""

from collections.abc import Iterable
from decimal import Decimal
from fractions import Fraction
from functools import lru_cache

from cars.catalogue.adjusters import MARKS_SET
from cars.figures.judgement import FigureOutcome, Judgement
from cars.models import Change, Measure, Part, Spot
from clubsetup.quantities.kinds import Kind, Unit
from clubsetup.quantities.spelling import has_unit
from clubsetup.quantities.table import unit_of
from clubsetup.quantities.texts import same_text
from clubsetup.quantities.units import Units
from clubsetup.quantities.writing import Shown, show, tell

# Enough for the pages of a busy evening; writing a figure is pure.
_KEPT = 16_384
# Shares come from a division and have no last digit of their own.
_PLACES = {Kind.PERCENT: 1}


@lru_cache(maxsize=_KEPT)
def format_value(
    value: Decimal, kind: str, unit: str, *, delta: bool = False, bare: bool = False
) -> str:
    """The canonical value in that unit, 'about' where it is not exactly so; `bare` without unit."""
    known = Kind(kind)
    if known in _PLACES:
        shown = show(value, known, unit=unit, delta=delta, places=_PLACES[known])
    else:
        shown = tell(value, known, unit=unit, delta=delta)
    text = (shown.bare if bare else shown.text).replace("-", "−", 1)
    return text if shown.exact or known in _PLACES else f"about {text}"


def format_figure(
    value: Decimal, measure: Measure, units: Units, *, delta: bool = False, bare: bool = False
) -> str:
    """A figure of the measure in the person's units."""
    unit = units.for_kind(Kind(measure.kind))
    return format_value(value, measure.kind, unit, delta=delta, bare=bare)


def which_way(measure: Measure, judgement: Judgement) -> str:
    """Which way a figure misses, in the measure's own words: high, soft, to the left."""
    more, less = measure.more_less or ("more", "less")
    return more if judgement.is_more else less


SHAPES = {
    FigureOutcome.ON_TARGET: ("good", "✓"),
    FigureOutcome.TOO_CLOSE: ("close", "≈"),
    FigureOutcome.NOT_TAKEN: ("none", "○"),
    FigureOutcome.NO_TARGET: ("none", "·"),
}


@lru_cache(maxsize=_KEPT)
def format_miss(miss: Decimal, kind: str, unit: str, word: str) -> str:
    """'off by 1/16 in, high'."""
    return f"off by {format_value(abs(miss), kind, unit, delta=True)}, {word}"


def format_verdict(measure: Measure, judgement: Judgement, units: Units) -> tuple[str, str, str]:
    """A judgement as a state's class, its shape, and its words."""
    if judgement.outcome is FigureOutcome.OFF:
        unit = units.for_kind(Kind(measure.kind))
        words = format_miss(judgement.miss, measure.kind, unit, which_way(measure, judgement))
        return "bad", "▲" if judgement.is_more else "▼", words
    state, shape = SHAPES[judgement.outcome]
    words = "noted" if judgement.outcome is FigureOutcome.NO_TARGET else str(judgement.outcome)
    return state, shape, words


def format_change(change: Change, units: Units) -> str:
    """'spring seat LF +1/2 turn', in the reader's units; 'ballast +3.0 lb', as marked."""
    if change.unit == MARKS_SET:
        return format_adjustment(change.adjuster, change.spot, "set anew")
    # Typed without its unit it does not say by itself what it weighs.
    typed = change.piece.marked_mass_typed if change.piece else ""
    typed = typed if has_unit(typed) else ""
    return format_adjustment(
        change.adjuster, change.spot, format_amount(change.amount, change.unit, units, typed)
    )


def format_changes(changes: Iterable[Change], units: Units) -> str:
    """'tyre RF +1, spring seat LF +1 turn'."""
    return ", ".join(format_change(change, units) for change in changes)


def format_box(measure: Measure, spot: str) -> str:
    """'Weight, left front'; of a measure with one box its name alone."""
    return f"{measure.name}, {Spot(spot).label.lower()}" if len(measure.spots) > 1 else measure.name


def format_adjustment(adjuster: str, spot: str, amount: str) -> str:
    """'spring seat LF +1/2 turn' from its parts; the whole car is not said."""
    where = "" if spot == Spot.CAR else spot
    return " ".join(part for part in (adjuster.replace("-", " "), where, amount) if part)


# What an amount of a change is counted in, where it is a quantity that people differ on.
_AMOUNTS = {
    "turn": Kind.TURNS,
    "in": Kind.LENGTH,
    "mm": Kind.LENGTH,
    "psi": Kind.PRESSURE,
    "deg": Kind.ANGLE,
    "lb": Kind.MASS,
    "kg": Kind.MASS,
    "lb/in": Kind.SPRING_RATE,
    "N/mm": Kind.SPRING_RATE,
}
_COUNTED = {
    "click": ("click", "clicks"),
    "tooth": ("tooth", "teeth"),
    "hole": ("hole", "holes"),
    "1": ("", ""),
}
_AMOUNT_KEPT = Decimal("0.00005")  # half of the last digit that an amount is kept with


def format_rate_of(part: Part, units: Units) -> str:
    """A spring's rate as it was typed on the part, so that it means the same to this person.

    Where the unit went without saying and theirs is another, it is said.
    """
    rate = part.rate or Decimal(0)
    return same_text(part.rate_typed, rate, Kind.SPRING_RATE, units=units).text


def format_amount(amount: Decimal, unit: str, units: Units, typed: str = "") -> str:
    """An amount kept in `unit`, in the reader's: '+1/2 turn', '+3 lb' where 1.3608 kg was kept.

    As few digits as say the amount to the last one kept, and never more than are usual. Of a piece
    of ballast its weight as it was `typed`: '+3.0 lb', or '3.0 lb moved'.
    """
    if typed:
        return f"{typed} moved" if unit == "1" else f"{'−' if amount < 0 else '+'}{typed}"
    kind = _AMOUNTS.get(unit)
    if kind is None:
        one, more = _COUNTED.get(unit, (unit, unit))
        number = show(amount, Kind.TURNS, unit="turn", sign=True).pretty.rpartition(" turn")[0]
        return f"{number} {one if abs(amount) <= 1 else more}".strip()
    kept_in = unit_of(kind, unit)
    value = kept_in.to_canonical(Fraction(amount))
    near = kept_in.to_canonical(Fraction(_AMOUNT_KEPT))
    return _shortest(value, kind, unit_of(kind, units.for_kind(kind)), near).pretty


def _shortest(value: Decimal, kind: Kind, unit: Unit, near: Decimal) -> Shown:
    if unit.fraction_first:
        for parts in unit.denominators:
            shown = show(
                value, kind, unit=unit.name, style="fraction", denominator=parts, sign=True
            )
            if abs(shown.remainder) <= near:
                return shown
    for places in range(unit.usual):
        shown = show(value, kind, unit=unit.name, style="decimal", places=places, sign=True)
        if abs(shown.remainder) <= near:
            return shown
    return show(value, kind, unit=unit.name, style="decimal", places=unit.usual, sign=True)
