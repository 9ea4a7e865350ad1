"""From what a person types to an exact value: `parse`."""

from dataclasses import dataclass
from decimal import Context, Decimal

from clubsetup.quantities.errors import QuantityError
from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.units import Units

__all__ = ["Limits", "QuantityError", "Typed", "parse"]

_FINE = Context(prec=28)
_IMPERIAL = Units.imperial()


@dataclass(frozen=True, slots=True)
class Limits:
    """The least and the most a measure can sensibly be, canonical; None where it is open."""

    low: Decimal | None = None
    high: Decimal | None = None
    name: str = ""


@dataclass(frozen=True, slots=True)
class Typed:
    """A quantity as somebody typed it."""

    value: Decimal  # canonical
    text: str  # as typed, without the spaces around it
    unit: str  # the unit typed, or the preferred one; of a compound the smaller
    resolution: Decimal  # canonical

    @property
    def u(self) -> Decimal:
        """Standard uncertainty of the resolution alone, canonical: resolution / (2 sqrt 3).

        Rectangular over one step of the tool (JCGM 100:2008, 4.3.7).
        """
        return _FINE.divide(self.resolution, _FINE.sqrt(Decimal(12)))


def parse(
    text: str,
    kind: Kind,
    *,
    units: Units = _IMPERIAL,
    limits: Limits | None = None,
    tool_resolution: Decimal | None = None,
) -> Typed:
    """The quantity that `text` says. Raises QuantityError."""
    raise NotImplementedError
