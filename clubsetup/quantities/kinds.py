"""Kinds of quantity, and what is done with a number of each kind.

A value is kept in its kind's canonical unit as a decimal with at most `PLACES` digits after the
point, so that a column numeric(DIGITS, PLACES) holds it unchanged. The units people may type
stand in `table`.
"""

from dataclasses import dataclass
from decimal import Context, Decimal
from enum import StrEnum
from fractions import Fraction

DIGITS = 20
PLACES = 10
LARGEST = Decimal(10) ** (DIGITS - PLACES - 2)  # two digits to spare, so that sums fit too

_EXACT = Context(prec=80)


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

    def behind(self, number: Fraction) -> str:
        """What is written behind `number`."""
        if self.suffix_one is None or number == 0 or abs(number) > 1:
            return self.suffix
        return self.suffix_one

    def to_canonical(self, number: Fraction) -> Decimal:
        """Canonical value of `number` of this unit, rounded half-even at PLACES digits."""
        return rounded((number + self.offset) * self.factor)

    def from_canonical(self, value: Decimal) -> Fraction:
        """How many of this unit the canonical `value` is, exactly."""
        return Fraction(value) / self.factor - self.offset


def rounded(exact: Fraction, places: int = PLACES) -> Decimal:
    """`exact` as a decimal, half-even at `places` digits, without trailing zeros.

    Integers only, so the caller's decimal context cannot round it a second time.
    """
    scaled = round(exact * 10**places)
    while places and scaled % 10 == 0:
        scaled //= 10
        places -= 1
    return Decimal(f"{scaled}E-{places}") if places else Decimal(scaled)


def difference(left: Decimal, right: Decimal) -> Decimal:
    """left - right with no rounding by the caller's decimal context."""
    return _EXACT.subtract(left, right)
