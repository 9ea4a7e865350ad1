"""What the mechanics say when they cannot answer.

Every refusal names the quantity that is wrong, so that a page can put the
message beside the right box. Nothing in this package returns nan.
"""

import math
from collections.abc import Iterable


class MechanicsError(ValueError):
    """A computation that cannot be done; ``quantity`` names what stands in the way."""

    def __init__(self, quantity: str, message: str) -> None:
        """Keep the name of the quantity beside a message a person can read."""
        super().__init__(f"{quantity}: {message}")
        self.quantity = quantity


class BadInput(MechanicsError):
    """A value no car can have: negative, zero where it must not be, not finite."""


class OutOfReach(MechanicsError):
    """The input is sound, but what was asked for cannot be reached."""


class TooThin(MechanicsError):
    """Too few or too similar readings to say anything."""


class Singular(MechanicsError):
    """The system of equations has no single answer, or only a worthless one."""


def finite(quantity: str, value: float) -> float:
    """Return ``value`` as a float; BadInput where it is not a finite number."""
    try:
        number = float(value)
    except (TypeError, ValueError, OverflowError):
        raise BadInput(quantity, f"must be a number, not {value!r}") from None
    if not math.isfinite(number):
        raise BadInput(quantity, f"must be a finite number, not {number}")
    return number


def within(quantity: str, value: float, low: float, high: float) -> float:
    """Return ``value`` where low <= value <= high; BadInput otherwise."""
    number = finite(quantity, value)
    if not low <= number <= high:
        raise BadInput(quantity, f"must be between {low:g} and {high:g}, not {number:g}")
    return number


def positive(quantity: str, value: float, high: float = math.inf) -> float:
    """Return ``value`` where 0 < value <= high; BadInput otherwise."""
    number = finite(quantity, value)
    if number <= 0.0:
        raise BadInput(quantity, f"must be more than zero, not {number:g}")
    if number > high:
        raise BadInput(quantity, f"must be at most {high:g}, not {number:g}")
    return number


def not_negative(quantity: str, value: float, high: float = math.inf) -> float:
    """Return ``value`` where 0 <= value <= high; BadInput otherwise."""
    return 0.0 if finite(quantity, value) == 0.0 else positive(quantity, value, high)


def all_finite(quantity: str, values: Iterable[float]) -> tuple[float, ...]:
    """Return the values as floats; BadInput names the place of one that is not finite."""
    return tuple(finite(f"{quantity}[{place}]", value) for place, value in enumerate(values))
