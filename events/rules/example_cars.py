"""The figures of the example cars that a steward sees beside a rule.

How finely the tools of the trade read, and how far off a limit leaves no doubt: common practice,
no source.
"""

from dataclasses import dataclass
from decimal import Decimal

from clubsetup.quantities.uncertainty import Estimate, from_step
from events.rules.decision import RuleLimits


@dataclass(frozen=True, slots=True)
class Tool:
    """The standard uncertainty of what a tool reads, and a gap that it tells beyond doubt."""

    u: float
    gap: float


PADS = Tool(u=0.1, gap=2 * 0.45359237)  # kg; 2 lb on four pads
SHARES = Tool(u=0.05, gap=1.0)  # percent
TAPE = Tool(u=from_step(25.4 / 16), gap=25.4 / 8)  # mm; 1/8 in on a tape of sixteenths
BENCH = Tool(u=from_step(0.01), gap=0.1 * 0.45359237)  # kg; 0.1 lb on a scale of 10 g


def limits_of(low: Decimal | None, high: Decimal | None) -> RuleLimits:
    """Limits from the exact parameters of a rule."""
    return RuleLimits(None if low is None else float(low), None if high is None else float(high))


def figure(limits: RuleLimits, tool: Tool, *, inside: bool) -> Estimate:
    """A figure well inside the limits, in the middle of two, or well outside the first there is."""
    if inside and limits.lower is not None and limits.upper is not None:
        return Estimate((limits.lower + limits.upper) / 2.0, tool.u)
    off = tool.gap if inside else -tool.gap
    if limits.lower is not None:
        return Estimate(limits.lower + off, tool.u)
    return Estimate(float(limits.upper or 0.0) - off, tool.u)
