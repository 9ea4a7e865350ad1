"""Kinds of quantity, and what is done with a number of each kind.

A value is kept in its kind's canonical unit as a decimal with at most `PLACES` digits after the
point, so that a column numeric(DIGITS, PLACES) holds it unchanged. The units people may type
stand in `table`.
"""

from dataclasses import dataclass
from decimal import ROUND_HALF_EVEN, Context, Decimal
from enum import StrEnum
from fractions import Fraction

DIGITS = 20
PLACES = 10
LARGEST = Decimal(10) ** (DIGITS - PLACES - 2)  # two digits to spare, so that sums fit too

_EXACT = Context(prec=2 * DIGITS, rounding=ROUND_HALF_EVEN)  # the caller's context is not ours
_STEP = Decimal(f"1E-{PLACES}")
_NONE = Fraction(0)


class Kind(StrEnum):
    """What sort of quantity a number is."""

    LENGTH = "length"
    MASS = "mass"
    ANGLE = "angle"
    PRESSURE = "pressure"
    SPRING_RATE = "spring_rate"
    TEMPERATURE = "temperature"
    VOLUME = "volume"
    TORQUE = "torque"
    SPEED = "speed"
    TURNS = "turns"
    PERCENT = "percent"
    HARDNESS = "hardness"
    COUNT = "count"


@dataclass(frozen=True, slots=True)
class Unit:
    """One unit of one kind: canonical value = (number + offset) * factor."""

    name: str
    suffix: str  # as written behind the number, with its space where one is customary
    factor: Fraction
    places: int  # most digits accepted after the decimal point
    usual: int  # digits shown after the point when the value has no short exact form
    spellings: tuple[str, ...]
    denominators: tuple[int, ...] = ()  # fractions people write with this unit
    fraction_first: bool = False  # shown as a fraction unless asked otherwise
    offset: Fraction = Fraction(0)
    suffix_one: str | None = None  # behind one or a part of one, where it differs: 1/2 turn

    def behind(self, count: int, parts: int) -> str:
        """What is written behind the number count/parts."""
        if self.suffix_one is None or count == 0 or abs(count) > parts:
            return self.suffix
        return self.suffix_one

    def to_canonical(self, number: Fraction) -> Decimal:
        """Canonical value of `number` of this unit, rounded half-even at PLACES digits."""
        return decimal_of_steps(self.steps(number.numerator, number.denominator))

    def steps(self, count: int, parts: int, *, delta: bool = False) -> int:
        """The canonical value of count/parts of this unit, in steps of the last digit kept.

        steps = (count/parts + offset) * factor * 10**PLACES, half-even; `delta` leaves the offset
        out, for a difference of two values. In integers, for a page writes hundreds of these.
        """
        offset = _NONE if delta else self.offset
        top = count * offset.denominator + offset.numerator * parts
        bottom = parts * offset.denominator * self.factor.denominator
        return _half_even(top * self.factor.numerator * 10**PLACES, bottom)

    def count(self, steps: int, parts: int, *, delta: bool = False) -> int:
        """The whole number of 1/parts of this unit nearest to `steps`, half-even."""
        offset = _NONE if delta else self.offset
        factor = self.factor.numerator * 10**PLACES
        top = steps * self.factor.denominator * offset.denominator - offset.numerator * factor
        return _half_even(top * parts, factor * offset.denominator)


def _half_even(top: int, bottom: int) -> int:
    """top / bottom to the nearest whole number, the even one of two."""
    quotient, rest = divmod(top, bottom)
    return quotient + (2 * rest > bottom or (2 * rest == bottom and quotient % 2 == 1))


def decimal_of_steps(steps: int) -> Decimal:
    """The decimal of so many steps of the last digit kept, without trailing zeros."""
    places = PLACES
    while places and steps % 10 == 0:
        steps //= 10
        places -= 1
    return Decimal(f"{steps}E-{places}") if places else Decimal(steps)


def rounded(exact: Fraction) -> Decimal:
    """`exact` as it can be kept: half-even at PLACES digits."""
    return decimal_of_steps(_half_even(exact.numerator * 10**PLACES, exact.denominator))


def steps_of(value: Decimal) -> int:
    """How many steps of the last digit kept a decimal is, half-even.

    Raises ValueError for one that no column of numeric(DIGITS, PLACES) could hold.
    """
    if not value.is_finite() or value.copy_abs() >= 10 ** (DIGITS - PLACES):
        raise ValueError(f"{value} is not a value that can be kept")
    return int(_EXACT.scaleb(_EXACT.quantize(value, _STEP), PLACES))
