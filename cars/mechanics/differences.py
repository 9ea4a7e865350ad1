"""How far figures of one box are apart on several sheets, and whether the tools can tell it."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

# Two-sided 95 % of the normal distribution (JCGM 100:2008, 6.3.3 and table G.1).
_K_95 = Decimal("1.959963984540054")
# Figures of units with endless factors are kept rounded at the tenth digit; finer is no difference.
_GRAIN = Decimal("1e-6")


@dataclass(frozen=True, slots=True)
class Known:
    """A figure with its standard uncertainty `u`, canonical.

    `half_step` of the tool it was read with; None for a computed figure.
    """

    value: Decimal
    u: Decimal = Decimal(0)
    half_step: Decimal | None = None


@dataclass(frozen=True, slots=True)
class Difference:
    """The second figure less the first, and how large one may seem where there is none."""

    amount: Decimal
    reach: Decimal

    @property
    def is_told(self) -> bool:
        """It is more than the tools can tell."""
        return abs(self.amount).quantize(_GRAIN) > self.reach.quantize(_GRAIN)

    def in_tolerances(self, tolerance: Decimal) -> float:
        """Its size in tolerances. Raises ValueError for a tolerance that is not above 0."""
        if tolerance <= 0:
            raise ValueError("a difference is counted in tolerances above 0")
        return float(abs(self.amount) / tolerance)


def difference(one: Known, other: Known) -> Difference:
    """`other` less `one`, with the reach of that difference.

    Each figure as read is right within half a step of its tool, so two of equal cars differ by at
    most the sum of both half steps: reach = h1 + h2. Of computed figures reach = 1.96 sqrt(u1^2 +
    u2^2), 95 % for independent ones (JCGM 100:2008, 5.1.2 and 6.3.3).
    """
    if one.half_step is not None and other.half_step is not None:
        reach = one.half_step + other.half_step
    else:
        reach = _K_95 * (one.u * one.u + other.u * other.u).sqrt()
    return Difference(other.value - one.value, reach)


def furthest(differences: Sequence[Difference], tolerance: Decimal) -> float | None:
    """The largest difference that is told, in tolerances; None where none is."""
    told = [each.in_tolerances(tolerance) for each in differences if each.is_told]
    return max(told, default=None)
