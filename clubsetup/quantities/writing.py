"""From an exact value to what a person reads: `show`."""

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Literal

from clubsetup.quantities.kinds import DIGITS, PLACES, Kind, Unit, difference, rounded
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
        """`text` with a real minus sign and fraction slash, for pages and prints."""
        return self.bare.replace("-", "−").replace("/", "⁄") + self.suffix

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
    46 5/32, 3.1), and only where none is exact as the nearest 1/`denominator`.

    `sign` writes the plus of a positive value too. `delta` says that the value is a difference of
    two, so that 5 degrees Celsius is written as 9 °F and not as 41 °F. Digits after the tenth
    are never kept, and not shown.

    Raises ValueError for a unit not of the kind, a fraction people do not write with it, or a
    value that could not have been kept.
    """
    chosen = unit_of(kind, unit)
    if not value.is_finite() or value.copy_abs() >= 10 ** (DIGITS - PLACES):
        raise ValueError(f"{value} is not a value that can be shown")
    written = _Writing(rounded(Fraction(value)), chosen, chosen.offset if delta else Fraction(0))
    nearest, bare = _choose(written, style, denominator, places)
    return Shown(
        bare="+" + bare if sign and nearest > 0 else bare,
        suffix=chosen.behind(nearest),
        exact=written.says(nearest),
        remainder=written.remainder(nearest),
    )


class _Writing:
    """A value being written in a unit."""

    def __init__(self, value: Decimal, unit: Unit, offset: Fraction) -> None:
        self.value, self.unit, self.offset = value, unit, offset
        self.number = unit.from_canonical(value) + offset

    def remainder(self, number: Fraction) -> Decimal:
        """What is left of the value when `number` of the unit is written, canonical."""
        return difference(self.value, self.unit.to_canonical(number - self.offset))

    def says(self, number: Fraction) -> bool:
        """Whether `number` of the unit reads back as the very value."""
        return not self.remainder(number)

    def nearest(self, parts: int) -> Fraction:
        """The nearest whole number of 1/`parts`, half-even."""
        return Fraction(round(self.number * parts), parts)

    def digits(self) -> int | None:
        """The fewest digits after the point that say the value; None where none do."""
        accepted = range(self.unit.places + 1)
        return next((digits for digits in accepted if self.says(self.nearest(10**digits))), None)


def _choose(
    written: _Writing, style: Style | None, denominator: int, places: int | None
) -> tuple[Fraction, str]:
    """The number to write, and its text."""
    unit = written.unit
    freely = style is None and places is None
    if unit.denominators and (style == "fraction" or (freely and unit.fraction_first)):
        parts = _parts(unit, denominator)
        tried = (parts, *unit.denominators) if freely else (parts,)
        for number in map(written.nearest, tried):
            if written.says(number):
                return number, _fraction_text(number)
        if not freely or written.digits() is None:
            return (number := written.nearest(parts)), _fraction_text(number)
    digits = written.digits() if places is None else places
    if digits is None:
        digits = unit.usual
    return (number := written.nearest(10**digits)), _decimal_text(number, digits)


def _parts(unit: Unit, denominator: int) -> int:
    parts = min(denominator, unit.denominators[-1])
    if parts not in unit.denominators:
        raise ValueError(f"{denominator} is not a fraction written with {unit.name}")
    return parts


def _fraction_text(number: Fraction) -> str:
    whole, top = divmod(abs(number.numerator), number.denominator)
    minus = "-" if number < 0 else ""
    if not top:
        return f"{minus}{whole}"
    fraction = f"{top}/{number.denominator}"
    return f"{minus}{whole} {fraction}" if whole else minus + fraction


def _decimal_text(number: Fraction, places: int) -> str:
    scaled = abs(round(number * 10**places))
    minus = "-" if number < 0 else ""
    if not places:
        return f"{minus}{scaled}"
    digits = str(scaled).rjust(places + 1, "0")
    return f"{minus}{digits[:-places]}.{digits[-places:]}"
