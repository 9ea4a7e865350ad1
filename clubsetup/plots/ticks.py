"""Where a scale is marked: on sixteenths or on decimals, at steps that people count in."""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import ceil, floor, isfinite

MINUS = "\u2212"
# What lengths are read in on a tape: sixteenths, doubled, then inches.
INCHES = (*(Fraction(1, n) for n in (16, 8, 4, 2)), *map(Fraction, (1, 2, 4, 6, 12, 24, 48, 96)))
_IN_TEN = (Fraction(1), Fraction(2), Fraction(5))


@dataclass(frozen=True, slots=True)
class Tick:
    """A mark of a scale: its place in the measure's unit, and what is written at it."""

    at: Fraction
    words: str


def sixteenths(low: float, high: float, at_most: int = 6) -> list[Tick]:
    """Ticks at 1/16, 1/8, 1/4, 1/2, 1, ... of the unit, the finest step of which no more fit in.

    The words are as a tape is read: '2 5/16'. `low` and `high` are in inches.
    """
    found = _ticks(low, high, at_most, INCHES)
    return [Tick(at, fraction_text(at)) for at in found]


def decimals(low: float, high: float, at_most: int = 6) -> list[Tick]:
    """Ticks at 1, 2 or 5 times a power of ten, the finest step of which no more than that fit in.

    All are written with as many digits after the point as the step needs.
    """
    steps = sorted(one * Fraction(10) ** power for power in range(-9, 16) for one in _IN_TEN)
    found = _ticks(low, high, at_most, steps)
    places = _places(found)
    return [Tick(at, f"{float(at):.{places}f}".replace("-", MINUS)) for at in found]


def fraction_text(value: Fraction) -> str:
    """'2 5/16', '\u22121/2', '3'."""
    whole, rest = divmod(abs(value), 1)
    parts = [str(whole)] if whole or not rest else []
    if rest:
        parts.append(f"{rest.numerator}/{rest.denominator}")
    return (MINUS if value < 0 else "") + " ".join(parts)


def _ticks(low: float, high: float, at_most: int, steps: Sequence[Fraction]) -> list[Fraction]:
    if not (isfinite(low) and isfinite(high) and low < high):
        raise ValueError("Ticks stand between two finite figures, the smaller first.")
    if at_most < 1:
        raise ValueError("Ask for one tick at least.")
    # As they are written: 0.3 is three tenths, whatever is nearest to it in binary.
    begin, end = Fraction(str(float(low))), Fraction(str(float(high)))
    for step in steps:
        first, last = ceil(begin / step), floor(end / step)
        if last - first < at_most:
            return [step * n for n in range(first, last + 1)]
    # Larger than any step people count in: the ends themselves.
    return [begin, end][:at_most]


def _places(ticks: Sequence[Fraction]) -> int:
    return next((n for n in range(10) if all((at * 10**n).denominator == 1 for at in ticks)), 9)
