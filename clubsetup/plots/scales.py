"""Linear scales: from what is measured to where it stands."""

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from math import isfinite, isnan

Number = float | int | Decimal | Fraction


@dataclass(frozen=True, slots=True)
class Scale:
    """From [low, high] of what is measured to [start, end] in user units, in either direction.

    x = start + (value - low) / (high - low) * (end - start)
    """

    low: float
    high: float
    start: float
    end: float

    def __post_init__(self) -> None:
        """Refuses what has no places between: ends that are not finite, or not in order."""
        if not all(
            map(isfinite, (self.low, self.high, self.start, self.end, self.high - self.low))
        ):
            raise ValueError("A scale has finite ends.")
        if not self.low < self.high:
            raise ValueError("A scale goes from a smaller figure to a larger one.")

    def __call__(self, value: Number) -> float:
        """Where the value stands, in user units; beyond an end it stands at the end."""
        share = (float(value) - self.low) / (self.high - self.low)
        if isnan(share):
            raise ValueError("What is no number stands nowhere.")
        share = min(1.0, max(0.0, share))
        # So written, rounding puts neither end past itself.
        return self.start * (1.0 - share) + self.end * share

    def side(self, value: Number) -> int:
        """-1 below the scale, 1 above it, 0 on it."""
        return (float(value) > self.high) - (float(value) < self.low)
