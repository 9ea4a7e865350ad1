"""The four corners of a car, always in the order LF, RF, LR, RR."""

from collections.abc import Callable, Iterable
from typing import NamedTuple

from cars.mechanics.errors import BadInput, finite

CORNER_NAMES = ("LF", "RF", "LR", "RR")


class Corners(NamedTuple):
    """One figure for each corner of the car; the unit is that of the figure.

    Being a tuple it goes straight into numpy: ``np.array(corners)``.
    """

    lf: float
    rf: float
    lr: float
    rr: float

    @classmethod
    def same(cls, value: float) -> "Corners":
        """The same figure at every corner."""
        return cls(value, value, value, value)

    @classmethod
    def of(cls, values: Iterable[float]) -> "Corners":
        """Four figures in the order LF, RF, LR, RR; BadInput where there are not four."""
        numbers = tuple(float(value) for value in values)
        if len(numbers) != len(CORNER_NAMES):
            raise BadInput("corners", f"four figures are needed, not {len(numbers)}")
        return cls(*numbers)

    def each(self, change: Callable[[float], float]) -> "Corners":
        """The corners with ``change`` applied to every figure."""
        return Corners(*(change(value) for value in self))


def checked(
    quantity: str,
    corners: Iterable[float],
    check: Callable[[str, float], float] = finite,
) -> Corners:
    """Corners whose every figure passes ``check``; an error reads like 'spring_rate LF'."""
    values = tuple(corners)
    if len(values) != len(CORNER_NAMES):
        raise BadInput(quantity, f"four figures are needed, not {len(values)}")
    return Corners(
        *(check(f"{quantity} {name}", v) for name, v in zip(CORNER_NAMES, values, strict=True))
    )
