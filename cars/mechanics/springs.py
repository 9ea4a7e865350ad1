"""A coil spring's rate from its wire, and its wheel rate and ride rate.

mm, N/mm, N/mm2.
"""

from dataclasses import dataclass

from cars.mechanics.chassis import Chassis
from cars.mechanics.corners import Corners
from cars.mechanics.errors import BadInput, not_negative, positive

# Shear modulus of spring steel, N/mm2; handbook value, from memory.
STEEL = 79_300.0


def coil_rate(
    wire: float, mean_diameter: float, active_coils: float, shear: float = STEEL
) -> float:
    """Rate of a helical compression spring of round wire, N/mm.

    k = d^4 G / (8 D^3 N): d the wire, D the mean coil diameter (mm), N the active coils, G the
    shear modulus (N/mm2). Torsion alone, linear. Source: Shigley, Mechanical Engineering Design,
    10th ed., eq. 10-9 and example 10-1. Raises BadInput for a figure that is not positive or a
    wire as thick as its coil.
    """
    d, big_d = positive("wire", wire), positive("mean_diameter", mean_diameter)
    if d >= big_d:
        raise BadInput("wire", f"{d:g} mm cannot be wound to a mean diameter of {big_d:g} mm")
    coils = positive("active_coils", active_coils)
    return d**4 * positive("shear", shear) / (8.0 * big_d**3 * coils)


def in_series(*rates: float) -> float:
    """Rate of springs on top of one another, as a spring on its tyre: 1/k = sum 1/k_i, N/mm.

    Source: statics; each carries the same load. Raises BadInput for none, or one not positive.
    """
    if not rates:
        raise BadInput("rates", "at least one spring is needed")
    return 1.0 / sum(1.0 / positive("rate", rate) for rate in rates)


@dataclass(frozen=True, slots=True)
class WheelRates:
    """One spring as the wheel has it, N/mm: without its tyre, with it, and with it in roll."""

    wheel_rate: float
    ride_rate: float
    ride_rate_in_roll: float


def wheel_rates(
    spring_rate: float, motion_ratio: float, tyre_rate: float, place: float = 1.0
) -> WheelRates:
    """What a spring is at its wheel: k r^2, that in series with the tyre, and k r^2 p^2 with it.

    k the spring's rate and r its motion ratio as in `Chassis`, p its `place` as in
    `spring_places`. The first two are for both wheels of an axle moving alike; the third for an
    axle that leans about its middle. Source: virtual work, the spring's travel being r times (in
    roll r p times) the wheel's. Exact where left and right are alike, and near it where they
    nearly are; `response` has the whole car. Raises BadInput for a rate or ratio that is not
    positive, or a place that is negative.
    """
    own = positive("spring_rate", spring_rate) * positive("motion_ratio", motion_ratio) ** 2
    tyre = positive("tyre_rate", tyre_rate)
    rolling = own * not_negative("place", place) ** 2
    in_roll = in_series(rolling, tyre) if rolling else 0.0
    return WheelRates(own, in_series(own, tyre), in_roll)


def spring_places(chassis: Chassis) -> Corners:
    """How far out each spring stands, as a part of half the track; LF RF LR RR.

    On an independent axle 1: its motion ratio is of the wheel itself.
    """
    return Corners.of(
        abs(y) / (0.5 * track) if axle == "solid" else 1.0
        for y, track, axle in zip(
            chassis.spring_y,
            (chassis.track_front, chassis.track_front, chassis.track_rear, chassis.track_rear),
            (chassis.front_axle, chassis.front_axle, chassis.rear_axle, chassis.rear_axle),
            strict=True,
        )
    )
