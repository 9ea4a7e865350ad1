"""How closely a driver's weight can be worked out from shares read with the driver seated.

Whoever has the car weighs it empty and learns where its seat sits, with any driver of known weight.
With m the mass of the car alone, W the driver's, f the part of W that the seat puts on one side and
p the part of m there, a share is s = (p m + f W) / (m + W), so that

    ds/dW = (f - s) / (m + W)    and    u(W) = u(s) (m + W) / |f - s|

kg, with s, f and p as fractions. A plan says what known turns did to cross: they move a fixed load
dF from one diagonal to the other, so that m + W = dF / dc and

    u(W) = (m + W) u(dc) / |dc|,    u(dc) = u(s) root 2

Who knows the class's minimum and the ballast takes the car and driver to be at the minimum, and is
off by what they were above it. Several shares are taken together by their weights 1 / u^2, as
independent ones (JCGM 100:2008, 5.1.2, of u(s) alone; the formula is recomputed by hand in the
tests). What is said is 2 u.
"""

import math
from collections.abc import Iterable

# A share is handed over to a tenth of a percent: half that step over the root of three.
U_SHARE = 0.0005 / math.sqrt(3.0)
# Where a seat puts its driver. Our judgement, no source.
SEAT = {"left": 0.50, "rear": 0.65, "cross": 0.50}
# kg: no scale of theirs tells a child finer.
NEAREST_MASS = 0.25
# Nearer than this a share tells next to nothing.
NEAREST = 0.005


def hidden_weight_within(total: float, shares: dict[str, float]) -> float | None:
    """Twice the standard uncertainty of the driver's weight, kg; None where no share tells it.

    `total` is car and driver, kg; `shares` are fractions.
    """
    weights = []
    for name, share in shares.items():
        apart = abs(SEAT[name] - share)
        if apart >= NEAREST:
            weights.append((apart / (U_SHARE * total)) ** 2)
    return 2.0 / math.sqrt(sum(weights)) if weights else None


def plan_within(total: float, cross_before: float, cross: float) -> float | None:
    """The same of a plan: its two crosses, as fractions, and that its turns are known."""
    moved = abs(cross - cross_before)
    by_moving = 2.0 * math.sqrt(2.0) * U_SHARE * total / moved if moved else None
    return together([hidden_weight_within(total, {"cross": cross_before}), by_moving])


def ballast_within(total: float, minimum: float) -> float:
    """How far off whoever takes the car to be at its class's minimum is, kg."""
    return max(abs(total - minimum), NEAREST_MASS)


def together(each: Iterable[float | None]) -> float | None:
    """What several tell together, as independent ones; None where none tells anything."""
    weights = [1.0 / within**2 for within in each if within]
    return 1.0 / math.sqrt(sum(weights)) if weights else None
