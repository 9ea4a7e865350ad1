"""What a figure should be: between two edges, at least one, or at most one."""

from dataclasses import dataclass
from math import isfinite
from typing import Self

from clubsetup.plots.scales import Number, Scale

AROUND = 3.0  # tolerances each way that a scale shows
SHORT, LONG = 1.0, 3.0  # rooms on the wrong and on the right side of a limit


@dataclass(frozen=True, slots=True)
class Band:
    """From `low` to `high` in the measure's unit; a limit has one of them.

    `room` is how much of the unit is shown on the wrong side of a limit; three times as much is
    shown on the right side.
    """

    low: float | None = None
    high: float | None = None
    room: float | None = None

    def __post_init__(self) -> None:
        """Refuses a band without edge, without width, or a limit without room."""
        edges = [edge for edge in (self.low, self.high) if edge is not None]
        if not edges or not all(map(isfinite, edges)):
            raise ValueError("A band has a finite edge.")
        if len(edges) == 2 and not edges[0] < edges[1]:
            raise ValueError("A band goes from a smaller figure to a larger one.")
        if len(edges) == 1 and not (self.room and 0 < self.room < float("inf")):
            raise ValueError("Say how much room is to be shown beside a limit.")

    @classmethod
    def around(cls, target: Number, tolerance: Number) -> Self:
        """The target with its tolerance, both in the measure's unit; the tolerance is above 0."""
        return cls(float(target) - float(tolerance), float(target) + float(tolerance))

    @classmethod
    def at_least(cls, limit: Number, *, room: Number) -> Self:
        """A minimum."""
        return cls(low=float(limit), room=float(room))

    @classmethod
    def at_most(cls, limit: Number, *, room: Number) -> Self:
        """A maximum."""
        return cls(high=float(limit), room=float(room))

    @property
    def target(self) -> float | None:
        """The middle, of a band with two edges."""
        return None if self.low is None or self.high is None else (self.low + self.high) / 2.0

    def scale(self, start: float, end: float) -> Scale:
        """The scale that the band is shown on: three tolerances each way of the target."""
        if self.low is not None and self.high is not None:
            middle, half = (self.low + self.high) / 2.0, (self.high - self.low) / 2.0
            return Scale(middle - AROUND * half, middle + AROUND * half, start, end)
        room = float(self.room or 0)
        if self.low is not None:
            return Scale(self.low - SHORT * room, self.low + LONG * room, start, end)
        edge = float(self.high or 0)
        return Scale(edge - LONG * room, edge + SHORT * room, start, end)

    def ends(self, scale: Scale) -> tuple[float, float]:
        """Where the band begins and ends on a scale, in user units."""
        begins = scale.start if self.low is None else scale(self.low)
        return begins, scale.end if self.high is None else scale(self.high)
