"""How what a turn does depends on the rates: the response and its slopes, many times over."""

from typing import NamedTuple

import numpy as np

from cars.mechanics.chassis import (
    STANDARD_GRAVITY,
    Chassis,
    Matrix,
    flexibility,
    plane_rows,
    spring_rows,
)
from cars.mechanics.corners import Corners

MULTIPLIERS = ("front", "rear", "tyre", "thread")


class Multipliers(NamedTuple):
    """What this car's rates are, as multiples of those its chassis page states.

    ``front`` and ``rear`` for the spring rates of that axle, ``tyre`` for all tyre
    rates, ``thread`` for the seat travel per turn (a motion ratio or a lever that is
    not as stated shows up here and in the spring rates).
    """

    front: float
    rear: float
    tyre: float
    thread: float


def multiplied(chassis: Chassis, by: Multipliers) -> Chassis:
    """The same chassis with its rates and threads multiplied."""
    ends = Corners(by.front, by.front, by.rear, by.rear)
    return Chassis(
        wheelbase_left=chassis.wheelbase_left,
        wheelbase_right=chassis.wheelbase_right,
        track_front=chassis.track_front,
        track_rear=chassis.track_rear,
        spring_y=chassis.spring_y,
        spring_rate=Corners.of(k * m for k, m in zip(chassis.spring_rate, ends, strict=True)),
        motion_ratio=chassis.motion_ratio,
        thread=chassis.thread.each(lambda travel: travel * by.thread),
        tyre_rate=chassis.tyre_rate.each(lambda rate: rate * by.tyre),
        height_points=chassis.height_points,
        front_axle=chassis.front_axle,
        rear_axle=chassis.rear_axle,
    )


class TurnModel:
    """Loads and heights per turn of one geometry, for any multipliers of its rates.

    The geometry is worked out once; a fit then asks for many sets of rates.
    """

    def __init__(self, chassis: Chassis) -> None:
        """Work out the rows that do not depend on rates."""
        self._springs = spring_rows(chassis)
        self._heights = plane_rows(chassis.height_points, 0.5 * chassis.wheelbase)
        self._rate = np.array(chassis.spring_rate)
        self._tyre = np.array(chassis.tyre_rate)
        self._thread = np.array(chassis.thread)

    def at(self, log_multipliers: Matrix) -> tuple[Matrix, Matrix]:
        """What a turn does, 8x4, and its slopes, 4x8x4, at the log-multipliers given.

        Rows: four loads in kg, four heights in mm; columns: the corner turned. The
        first axis of the slopes runs over MULTIPLIERS. With q, s and t of
        ``response`` for one turn, a change of rate dk moves the freedoms by
        ``dq = -K^-1 S'dk s`` (springs) or ``dq = -K^-1 T'dkt t`` (tyres), because
        ``K dq = -dK q - S'dk p`` and ``s = S q + p``. Exact for the linear model.
        Raises Singular as ``response`` does.
        """
        front, rear, tyre, thread = np.exp(log_multipliers)
        rate = self._rate * np.array([front, front, rear, rear])
        tyres = self._tyre * tyre
        seats = np.diag(self._thread * thread)
        inverse = flexibility(self._springs, rate, tyres)
        by_spring = -inverse @ (self._springs.T * rate)
        freedoms = by_spring @ seats
        compression = self._springs @ freedoms + seats

        moved = np.empty((4, 7, 4))
        moved[0] = by_spring[:, :2] @ compression[:2]
        moved[1] = by_spring[:, 2:] @ compression[2:]
        moved[2] = -inverse[:, 3:] @ (tyres[:, None] * freedoms[3:])
        moved[3] = freedoms

        to_loads = (-tyres / STANDARD_GRAVITY)[:, None]
        value = np.concatenate((to_loads * freedoms[3:], self._heights @ freedoms[:3]))
        slope = np.concatenate((to_loads * moved[:, 3:], self._heights @ moved[:, :3]), axis=1)
        slope[2, :4] += value[:4]
        return value, slope
