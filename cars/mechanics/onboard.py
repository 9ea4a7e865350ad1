"""What weight put on, taken off or moved does to the scale readings: ballast, fuel, a driver."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from cars.mechanics.chassis import Point, Response
from cars.mechanics.corners import Corners, checked
from cars.mechanics.errors import not_negative, within
from cars.mechanics.loads import HEAVIEST, Shares, checked_loads

INSIDE = {"left": (1.0, 0.0, 1.0, 0.0), "rear": (0.0, 0.0, 1.0, 1.0), "cross": (0.0, 1.0, 1.0, 0.0)}
NOTHING = Corners.same(0.0)


@dataclass(frozen=True, slots=True)
class WeightChange:
    """Change of the four loads (kg) and heights (mm) by one piece of weight.

    ``u_loads`` is the change of the loads, kg, by one standard uncertainty of the weight;
    the four go together, since it is one weight.
    """

    loads: Corners
    heights: Corners
    u_loads: Corners


def weight_change(
    response: Response,
    mass: float,
    *,
    before: Point | None,
    after: Point | None,
    u: float = 0.0,
) -> WeightChange:
    """Weight of ``mass`` kg (standard uncertainty ``u``) taken from ``before`` to ``after``.

    Places are (x, y) in mm on the frame, None for off the car: ``before`` None puts it
    on, ``after`` None takes it off. d loads = mass (f(after) - f(before)) with f the loads
    per kg of ``response``, heights alike. Source: the linear model of chassis.py.
    Raises BadInput for figures that are not finite and a negative uncertainty.
    """
    mass, u = within("mass", mass, -HEAVIEST, HEAVIEST), not_negative("u", u, HEAVIEST)
    loads, heights = [0.0] * 4, [0.0] * 4
    for place, sign in ((before, -1.0), (after, 1.0)):
        if place is not None:
            loads = _add(loads, sign, response.loads_per_kg(*place))
            heights = _add(heights, sign, response.heights_per_kg(*place))
    return WeightChange(
        loads=Corners.of(mass * value for value in loads),
        heights=Corners.of(mass * value for value in heights),
        u_loads=Corners.of(u * value for value in loads),
    )


def _add(values: Sequence[float], sign: float, others: Sequence[float]) -> list[float]:
    return [value + sign * other for value, other in zip(values, others, strict=True)]


def weigh_again(
    loads: Corners, changes: Sequence[WeightChange], u: float | Corners = 0.0
) -> tuple[Corners, Shares]:
    """What the scales would read after ``changes``, kg, and the shares with uncertainty.

    loads' = loads + sum of changes; with the shares s = D'/T'::

        u_T^2 = sum_i u_i^2 + sum_c (sum_i e_ci)^2
        u_s^2 = [sum_i (a_i - s)^2 u_i^2 + sum_c (sum_i (a_i - s) e_ci)^2] / T'^2

    u_i of the pads (one figure or four, kg), e_ci = ``u_loads`` of change c, a_i = 1 for
    the corners in D. Pads and weights are taken as uncorrelated and the model's loads per
    kg as exact. Source: JCGM 100:2008, 5.1.2, first order. Raises BadInput where readings
    are wrong, or a load would become negative: a wheel off the ground is not modelled.
    """
    values = list(checked_loads(loads))
    for change in changes:
        values = _add(values, 1.0, change.loads)
    # Taking off all of what stands on a pad may leave a rounding error below zero.
    after = checked_loads([0.0 if -1e-9 < v < 0.0 else v for v in values], "predicted loads")
    pads = checked("u", u if isinstance(u, tuple) else Corners.same(u), _checked_spread)
    total = sum(after)
    by_name: dict[str, tuple[float, float]] = {}
    for name, inside in INSIDE.items():
        share = sum(load for load, a in zip(after, inside, strict=True) if a) / total
        by_name[name] = share, _spread([a - share for a in inside], pads, changes) / total
    (left, u_left), (rear, u_rear), (cross, u_cross) = by_name.values()
    return after, Shares(
        total=total,
        left=left,
        rear=rear,
        cross=cross,
        u_total=_spread([1.0] * 4, pads, changes),
        u_left=u_left,
        u_rear=u_rear,
        u_cross=u_cross,
    )


def _checked_spread(quantity: str, value: float) -> float:
    return not_negative(quantity, value, HEAVIEST)


def _spread(slopes: list[float], pads: Corners, changes: Sequence[WeightChange]) -> float:
    own = [slope * u for slope, u in zip(slopes, pads, strict=True)]
    shared = [
        sum(slope * e for slope, e in zip(slopes, change.u_loads, strict=True))
        for change in changes
    ]
    return math.hypot(*own, *shared)
