"""The figures of the example cars that a steward sees beside a rule.

Each is read with the tools of the trade: common practice, no source.
"""

from decimal import Decimal

from clubsetup.quantities.uncertainty import Estimate, from_step
from events.rules.decision import Limits

# Standard uncertainty of a figure as read: four pads together (kg), their shares (percent), a tape
# with sixteenths of an inch (mm), a bench scale that shows 10 g (kg).
PADS_U, SHARE_U, TAPE_U, BENCH_U = 0.1, 0.05, from_step(25.4 / 16), from_step(0.01)

# Standard uncertainties off a limit at which nobody doubts the outcome.
CLEAR = 5.0


def limits_of(low: Decimal | None, high: Decimal | None) -> Limits:
    """Limits from the exact parameters of a rule."""
    return Limits(None if low is None else float(low), None if high is None else float(high))


def figure(limits: Limits, u: float, *, inside: bool) -> Estimate:
    """A figure well inside the limits, in the middle of two, or well outside the first there is."""
    if inside and limits.lower is not None and limits.upper is not None:
        return Estimate((limits.lower + limits.upper) / 2.0, u)
    off = CLEAR * u if inside else -CLEAR * u
    if limits.lower is not None:
        return Estimate(limits.lower + off, u)
    return Estimate(float(limits.upper or 0.0) - off, u)
