"""How likely a car is light at the official scales after so many laps, and what to add for that.

Masses kg. A prediction from the team's own scales; the official's decide.
"""

import math
from dataclasses import dataclass

import scipy

from clubsetup.quantities.uncertainty import Estimate, probability_below, rectangular


class LightError(ValueError):
    """An input that means nothing here; `quantity` names it."""

    def __init__(self, quantity: str, problem: str) -> None:
        super().__init__(f"{quantity}: {problem}")
        self.quantity = quantity
        self.problem = problem


@dataclass(frozen=True, slots=True, kw_only=True)
class Race:
    """What happens between the team's scales and the official's.

    `burn` kg of fuel a lap and its relative standard uncertainty `u_burn`; `filled` kg of fuel put
    in before the start; `scales_apart`: the team's scales and the official's differ by at most
    this, rectangular.
    """

    laps: int
    burn: float
    u_burn: float
    filled: float
    scales_apart: float

    def __post_init__(self) -> None:
        for name in ("laps", "burn", "u_burn", "filled", "scales_apart"):
            value = getattr(self, name)
            if not (math.isfinite(value) and value >= 0):
                raise LightError(name, f"must be zero or more, not {value!r}")


def between(race: Race) -> Estimate:
    """What the official's scales will read more than the team's did, minus where less.

    D = filled - n b and u^2 = (n b u_b)^2 + a^2 / 3, independent (JCGM 100:2008, 5.1.2; 4.3.7 for
    the scales). Dirt picked up and rubber left behind are not in it.
    """
    used = race.laps * race.burn
    u = math.hypot(used * race.u_burn, rectangular(race.scales_apart))
    return Estimate(race.filled - used, u)


def at_the_scales(now: Estimate, race: Race) -> Estimate:
    """What the official's scales will read after the race: W = W0 + D, u^2 = u0^2 + u_D^2."""
    more = between(race)
    return Estimate(now.value + more.value, math.hypot(now.u, more.u))


def risk_of_light(weight: Estimate, minimum: float) -> float:
    """The chance of being under the minimum: Phi((M - W) / u) (JCGM 106:2012, 7.2).

    Exactly on the minimum with no doubt at all is not under it.
    """
    if weight.u == 0:
        return 1.0 if weight.value < minimum else 0.0
    return probability_below(minimum, weight)


def margin_for(u: float, risk: float) -> float:
    """How far over the minimum the expected weight must lie for this risk of light: z u.

    z = Phi^-1(1 - risk). Raises LightError for a risk that is not between 0 and one half.
    """
    if not 0 < risk <= 0.5:
        raise LightError("risk", f"must lie over 0 and at most at 50 %, not {risk!r}")
    return float(scipy.special.ndtri(1.0 - risk)) * u


def to_add(weight: Estimate, minimum: float, risk: float) -> float:
    """The least mass that brings the risk of light down to `risk`; zero where it is that already.

    A = M + z u - W, the marked weight of the ballast taken as exact. Raises as `margin_for`.
    """
    return max(0.0, minimum + margin_for(weight.u, risk) - weight.value)
