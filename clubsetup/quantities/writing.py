"""From an exact value to what a person reads: `show`."""

from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

from clubsetup.quantities.kinds import Kind

Style = Literal["fraction", "decimal"]


@dataclass(frozen=True, slots=True)
class Shown:
    """A value as written. `str` says 'about' where the writing is not the value itself."""

    bare: str  # the number alone
    suffix: str  # the unit, with its space
    exact: bool
    remainder: Decimal  # canonical; value minus what is written

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
) -> Shown:
    """The canonical `value` written in `unit`."""
    raise NotImplementedError
