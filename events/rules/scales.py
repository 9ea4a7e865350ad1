"""What a pair of scales may be wrong by, and how to find out by how much it is.

OIML R 76-1:2006, accuracy class III; e is the verification scale interval (the display's step on
a plain scale). Any one unit of mass throughout.
"""

import math
from typing import NamedTuple

# Table 6, class III: up to so many e, this many e.
STEPS = ((500, 0.5), (2_000, 1.0), (10_000, 1.5))
IN_SERVICE = 2.0

_ROUNDING = 1e-9


class ScaleError(ValueError):
    """A load or interval no class III scale has; `quantity` names it."""

    def __init__(self, quantity: str, problem: str) -> None:
        super().__init__(f"{quantity}: {problem}")
        self.quantity = quantity
        self.problem = problem


class ScaleReading(NamedTuple):
    """The error of a scale at one load, against what it may be."""

    error: float
    allowed: float

    @property
    def within(self) -> bool:
        """Whether the error is no larger than allowed; the limit itself is allowed."""
        return abs(self.error) <= self.allowed * (1.0 + _ROUNDING)


def permissible_error(load: float, e: float, *, in_service: bool = False) -> float:
    """Half-width of the maximum permissible error at a load, class III.

    +-0.5 e up to 500 e, +-1 e up to 2000 e, +-1.5 e up to 10000 e at verification; twice that in
    service (OIML R 76-1:2006, table 6 and 3.5.2). Raises ScaleError for a negative load, an
    interval that is not positive or a load over 10000 e.
    """
    divisions = _not_negative("load", load) / _positive("scale interval", e)
    for most, allowed in STEPS:
        if divisions <= most * (1.0 + _ROUNDING):
            return allowed * e * (IN_SERVICE if in_service else 1.0)
    raise ScaleError("load", f"{load:g} is over {STEPS[-1][0]} intervals of {e:g}")


def indication(shown: float, e: float, added: float) -> float:
    """What a scale would show before rounding: P = I + e/2 - dL.

    `added` is the extra mass dL, laid on in steps of e/10, at which the display went up by one e
    (OIML R 76-1:2006, A.4.4.3). Raises ScaleError when `added` is negative or more than e.
    """
    interval = _positive("scale interval", e)
    if not 0 <= _not_negative("added mass", added) <= interval * (1.0 + _ROUNDING):
        raise ScaleError("added mass", f"{added:g} is more than one interval of {e:g}")
    if not math.isfinite(shown):
        raise ScaleError("shown", f"must be a finite number, not {shown!r}")
    return shown + interval / 2.0 - added


def check_scale(
    shown: float,
    load: float,
    e: float,
    *,
    added: float | None = None,
    zero_error: float = 0.0,
    in_service: bool = True,
) -> ScaleReading:
    """The error of a scale with a reference mass on it, E = P - L - E0, against table 6.

    Without `added` the display's own figure stands for P, which is good to e/2 only. `zero_error`
    is the error found at or near zero (A.4.4.3). Raises ScaleError as the functions above.
    """
    before_rounding = shown if added is None else indication(shown, e, added)
    error = before_rounding - _not_negative("load", load) - zero_error
    if not math.isfinite(error):
        raise ScaleError("shown", "must be a finite number")
    return ScaleReading(error, permissible_error(load, e, in_service=in_service))


def _positive(quantity: str, value: float) -> float:
    if not math.isfinite(value) or value <= 0:
        raise ScaleError(quantity, f"must be more than zero, not {value!r}")
    return value


def _not_negative(quantity: str, value: float) -> float:
    if not math.isfinite(value) or value < 0:
        raise ScaleError(quantity, f"must be zero or more, not {value!r}")
    return value
