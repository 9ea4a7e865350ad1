"""What the four scale readings say: total, shares with their uncertainty, centre of mass."""

import math
from collections.abc import Iterable
from dataclasses import dataclass

from cars.mechanics.chassis import LONGEST, Chassis
from cars.mechanics.corners import Corners, checked
from cars.mechanics.errors import BadInput, not_negative, positive, within

HEAVIEST = 1e6  # kg; beyond this no car is meant
LIGHTEST = 1e-6  # kg; less in all is nothing


@dataclass(frozen=True, slots=True)
class Shares:
    """Total in kg and shares as fractions of it, each with its standard uncertainty."""

    total: float
    left: float
    rear: float
    cross: float
    u_total: float
    u_left: float
    u_rear: float
    u_cross: float


def checked_loads(loads: Iterable[float], quantity: str = "loads") -> Corners:
    """Four loads in kg, none negative and not all zero; BadInput names the wrong one."""
    corners = checked(quantity, loads, _load)
    if sum(corners) < LIGHTEST:
        raise BadInput(quantity, "the four scale readings are all zero")
    return corners


def _load(quantity: str, value: float) -> float:
    return not_negative(quantity, value, HEAVIEST)


def shares(loads: Corners, u: float | Corners = 0.0) -> Shares:
    """Total, left, rear and cross of four scale readings.

    left = (LF + LR)/T, rear = (LR + RR)/T, cross = (RF + LR)/T, fractions of the
    total T in kg. With numerator D and independent standard uncertainties u_i, kg::

        u_share^2 = sum_i (a_i - D/T)^2 u_i^2 / T^2     a_i = 1 in D, else 0

    which for equal u is u sqrt(2 D^2 + 2 (T - D)^2) / T^2. A gain error common to
    all pads cancels in the shares and must not be put into ``u``; it does act on the
    total. ``u`` is one figure for every pad or one for each.

    Source: JCGM 100:2008, 5.1.2, first order; the shares themselves are common
    practice, no source. Raises BadInput for a negative or infinite reading or
    uncertainty, and for four readings of zero.
    """
    loads = checked_loads(loads)
    spread = checked("u", u if isinstance(u, tuple) else Corners.same(u), _load)
    total = sum(loads)
    left, u_left = _share(loads, spread, (1, 0, 1, 0))
    rear, u_rear = _share(loads, spread, (0, 0, 1, 1))
    cross, u_cross = _share(loads, spread, (0, 1, 1, 0))
    return Shares(
        total=total,
        left=left,
        rear=rear,
        cross=cross,
        u_total=math.hypot(*spread),
        u_left=u_left,
        u_rear=u_rear,
        u_cross=u_cross,
    )


def _share(
    loads: Corners, spread: Corners, inside: tuple[int, int, int, int]
) -> tuple[float, float]:
    total = sum(loads)
    share = sum(w for w, a in zip(loads, inside, strict=True) if a) / total
    return share, math.hypot(
        *((a - share) * u / total for a, u in zip(inside, spread, strict=True))
    )


def centre_of_mass(loads: Corners, chassis: Chassis) -> tuple[float, float]:
    """Where the mass stands in plan: (x, y) in mm from the middle of the rear axle.

    x = sum(W_i x_i)/T and y = sum(W_i y_i)/T with the tyres' places of ``chassis``,
    so lead and unequal tracks are in it. Assumes level pads and no sideways force.
    Source: moment balance; ISO 10392:2011 for the arrangement (number not seen).
    Raises BadInput for readings that are negative, not finite or all zero.
    """
    loads = checked_loads(loads)
    total, wheels = sum(loads), chassis.wheels
    return (
        sum(load * x for load, (x, _) in zip(loads, wheels, strict=True)) / total,
        sum(load * y for load, (_, y) in zip(loads, wheels, strict=True)) / total,
    )


def centre_of_mass_height(
    *, total: float, rear_gain: float, wheelbase: float, angle: float, wheel_radius: float
) -> float:
    """Height of the centre of mass above the ground, mm, from weighing with one axle raised.

    h = r + dW L / (W tan theta): ``total`` W and ``rear_gain`` dW (load gained by the
    axle that stays down) in the same unit, ``wheelbase`` L and ``wheel_radius`` r in
    mm, ``angle`` theta in degrees between the line through the axles and level.

    Assumes equal wheel radii, springs blocked so that the car tilts as one piece, and
    nothing (fuel, driver) moving inside. Source: ISO 10392:2011 (equation number not
    seen); follows from the moment balance about the lower axle, exact for any angle.
    Raises BadInput for a total, wheelbase, radius or angle that cannot be.
    """
    weight = positive("total", total, HEAVIEST)
    gain = within("rear_gain", rear_gain, -weight, weight)
    base = positive("wheelbase", wheelbase, LONGEST)
    radius = positive("wheel_radius", wheel_radius, LONGEST)
    tilt = within("angle", angle, 0.1, 60.0)
    return radius + gain * base / (weight * math.tan(math.radians(tilt)))
