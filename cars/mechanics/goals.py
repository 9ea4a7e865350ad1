"""What a plan is after: a value and how far from it is still on target."""

from dataclasses import dataclass

from cars.mechanics.errors import within

FARTHEST = 1e9  # beyond it no quantity is meant
FINEST = 1e-9  # below it no tolerance is


@dataclass(frozen=True, slots=True)
class Goal:
    """A wanted value and its tolerance, in the unit of the quantity; BadInput for others."""

    value: float
    tolerance: float

    def __post_init__(self) -> None:
        """Keep plain floats; a tolerance of next to nothing would make every miss endless."""
        object.__setattr__(self, "value", within("goal", self.value, -FARTHEST, FARTHEST))
        tolerance = within("tolerance", self.tolerance, FINEST, FARTHEST)
        object.__setattr__(self, "tolerance", tolerance)

    def miss(self, value: float) -> float:
        """How far ``value`` is from the goal, in tolerances, plus for above."""
        return (value - self.value) / self.tolerance


@dataclass(frozen=True, slots=True)
class Miss:
    """One target and how far a plan is predicted to stay from it, in tolerances."""

    target: str
    tolerances: float

    @property
    def outside(self) -> bool:
        """Whether the target is missed by more than its tolerance (rounding aside)."""
        return abs(self.tolerances) > 1.0 + 1e-9
