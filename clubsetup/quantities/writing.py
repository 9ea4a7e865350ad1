"""From an exact value to what a person reads: `show`."""

from dataclasses import dataclass
from decimal import Decimal
from math import gcd, lcm
from typing import Literal, NamedTuple

from clubsetup.quantities.kinds import PLACES, Kind, Unit, decimal_of_steps, steps_of
from clubsetup.quantities.table import unit_of

Style = Literal["fraction", "decimal"]


@dataclass(frozen=True, slots=True)
class Shown:
    """A value as written. `str` says 'about' where the writing is not the value itself."""

    bare: str  # the number alone
    suffix: str  # the unit, with its space
    exact: bool  # reading the text gives the value back, digit for digit
    remainder: Decimal  # canonical; the value minus what is written

    @property
    def text(self) -> str:
        """The number and its unit."""
        return self.bare + self.suffix

    @property
    def pretty(self) -> str:
        """`text` with a real minus sign, for pages and prints."""
        return self.bare.replace("-", "−") + self.suffix

    def __str__(self) -> str:
        return self.text if self.exact else f"about {self.text}"


def show(
    value: Decimal,
    kind: Kind,
    *,
    unit: str,
    style: Style | None = None,
    denominator: int = 16,
    places: int | None = None,
    sign: bool = False,
    delta: bool = False,
) -> Shown:
    """The canonical `value` written in `unit`, with what the writing leaves out.

    `style` 'fraction' writes the nearest 1/`denominator` (at most the finest that goes with the
    unit) in lowest terms; a unit that has no customary fractions is written in decimals all the
    same. 'decimal' writes `places` digits; with `places` None, as many as make it exact, or,
    where no number of digits that could be typed does, as many as are usual. Both round
    half-even.

    `style` None writes the way people write that unit, and exactly if they could have typed it
    so: inches as a fraction of `denominator`, or of a finer one, or as a decimal (46 5/16,
    46 5/32, 3.1), and only where none is exact as the nearest 1/`denominator`. With `places` it
    is the same as 'decimal'.

    `sign` writes the plus of a positive value too. `delta` says that the value is a difference of
    two, so that 5 degrees Celsius is written as 9 °F and not as 41 °F. Digits after the tenth
    are never kept, and not shown.

    Raises ValueError for a unit not of the kind, a fraction people do not write with it, more
    places than are kept, or a value that could not have been kept.
    """
    chosen = unit_of(kind, unit)
    writing = _Writing(steps_of(value), chosen, delta=delta)
    written = _choose(writing, style, denominator, places)
    remainder = writing.remainder_of(written)
    return Shown(
        bare="+" + written.text if sign and written.amount > 0 else written.text,
        suffix=chosen.behind(written.amount, written.parts),
        exact=remainder == 0,
        remainder=decimal_of_steps(remainder),
    )


def tell(
    value: Decimal, kind: Kind, *, unit: str, sign: bool = False, delta: bool = False
) -> Shown:
    """The value as a page, a print or a sentence says it: never with a tail of digits.

    As `show`, but an exact decimal with more than one digit beyond what is usual for the unit is
    rounded to the usual ones: 1176.3375 mm, which is 46 5/16 in, is told as 1176.3 mm. What goes
    into a box to be sent back, or to a program, is written by `show`.
    """
    shown = show(value, kind, unit=unit, sign=sign, delta=delta)
    usual = unit_of(kind, unit).usual
    if len(shown.bare.partition(".")[2]) <= usual + 1:
        return shown
    return show(value, kind, unit=unit, style="decimal", places=usual, sign=sign, delta=delta)


class _Written(NamedTuple):
    """The number amount/parts, and how it is put."""

    amount: int
    parts: int
    text: str


class _Writing:
    """A value, in steps of the last digit kept, being written in a unit."""

    def __init__(self, steps: int, unit: Unit, *, delta: bool) -> None:
        self.steps, self.unit, self.delta = steps, unit, delta

    def remainder_of(self, written: _Written) -> int:
        """The steps that the writing leaves out."""
        return self.steps - self.unit.steps(written.amount, written.parts, delta=self.delta)

    def fraction(self, parts: int) -> _Written:
        """The nearest whole number of 1/parts, in lowest terms."""
        count = self.unit.count(self.steps, parts, delta=self.delta)
        common = gcd(count, parts)
        count, parts = count // common, parts // common
        return _Written(count, parts, _fraction_text(count, parts))

    def decimal(self, places: int) -> _Written:
        """The nearest decimal of so many places."""
        parts = 10**places
        count = self.unit.count(self.steps, parts, delta=self.delta)
        return _Written(count, parts, _decimal_text(count, places))

    def exact_fraction(self) -> _Written | None:
        """The value itself as a fraction people write with the unit, if it is one."""
        written = self.fraction(lcm(*self.unit.denominators))
        customary = written.parts == 1 or written.parts in self.unit.denominators
        return written if customary and not self.remainder_of(written) else None

    def exact_decimal(self) -> _Written | None:
        """The value itself as the shortest decimal that may be typed, if it is one.

        Only one decimal of the accepted length can read back as the value, since the last digit
        accepted is much coarser than the last one kept; so the longest is tried, and shortened.
        """
        places = self.unit.places
        written = self.decimal(places)
        if self.remainder_of(written):
            return None
        count = written.amount
        while places and count % 10 == 0:
            count //= 10
            places -= 1
        return _Written(count, 10**places, _decimal_text(count, places))


def _choose(
    writing: _Writing, style: Style | None, denominator: int, places: int | None
) -> _Written:
    unit = writing.unit
    if places is not None and not 0 <= places <= PLACES:
        raise ValueError(f"a decimal is not written with {places} places")
    if places is not None and (style != "fraction" or not unit.denominators):
        return writing.decimal(places)
    if not unit.denominators or style == "decimal" or (style is None and not unit.fraction_first):
        return writing.exact_decimal() or writing.decimal(unit.usual)
    parts = min(denominator, unit.denominators[-1])
    if parts not in unit.denominators:
        raise ValueError(f"{denominator} is not a fraction written with {unit.name}")
    exact = (writing.exact_fraction() or writing.exact_decimal()) if style is None else None
    return exact or writing.fraction(parts)


def _fraction_text(count: int, parts: int) -> str:
    whole, top = divmod(abs(count), parts)
    minus = "-" if count < 0 else ""
    if not top:
        return f"{minus}{whole}"
    return f"{minus}{whole} {top}/{parts}" if whole else f"{minus}{top}/{parts}"


def _decimal_text(count: int, places: int) -> str:
    minus = "-" if count < 0 else ""
    if not places:
        return f"{minus}{abs(count)}"
    digits = str(abs(count)).rjust(places + 1, "0")
    return f"{minus}{digits[:-places]}.{digits[-places:]}"
