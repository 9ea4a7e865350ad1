"""A car on its springs: what a turn, a pad or a piece of weight does to loads and heights.

Frame of reference as in ISO 8855: x forward, y left, z up, origin on the ground
under the middle of the rear axle. Lengths mm, rates N/mm, loads kg.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import partial
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from cars.mechanics.corners import Corners, checked
from cars.mechanics.errors import BadInput, Singular, positive, within

Matrix = NDArray[np.float64]
AxleKind = Literal["solid", "independent"]
Point = tuple[float, float]

STANDARD_GRAVITY = 9.80665  # m/s2, so N per kg; exact by definition (3rd CGPM, 1901)

# Beyond these no car is meant, and products of them would leave floating point.
LONGEST = 1e5  # mm
STIFFEST = 1e6  # N/mm
SMALLEST = 1e-6  # mm, N/mm or a ratio
WORST_CONDITION = 1e10  # of the stiffness with heave and rotation on one scale


@dataclass(frozen=True, slots=True)
class Chassis:
    """Geometry and rates of one car, mm and N/mm, every field checked.

    ``spring_y`` is left positive. Springs of a solid axle stand on its axle line.
    A wheel of an independent axle moves on its own; the links carry its load to the
    frame as if it came in above the tyre, so there ``spring_y`` is not used and
    ``motion_ratio`` is spring travel per vertical *wheel* travel.
    ``motion_ratio`` of a solid axle is spring travel per vertical travel of the axle
    at ``spring_y``. ``thread`` is seat travel along the spring per turn.
    ``height_points`` are where ride heights are read, (x, y) each, LF RF LR RR.

    Raises BadInput, naming the field and corner, for what no car can have.
    """

    wheelbase_left: float
    wheelbase_right: float
    track_front: float
    track_rear: float
    spring_y: Corners
    spring_rate: Corners
    motion_ratio: Corners
    thread: Corners
    tyre_rate: Corners
    height_points: Sequence[Point]
    front_axle: AxleKind = "solid"
    rear_axle: AxleKind = "solid"

    def __post_init__(self) -> None:
        """Refuse what no car can have, and keep plain floats."""
        for name in ("wheelbase_left", "wheelbase_right", "track_front", "track_rear"):
            object.__setattr__(self, name, _size(name, getattr(self, name), LONGEST))
        for name, high in (
            ("spring_rate", STIFFEST),
            ("motion_ratio", 1e3),
            ("thread", LONGEST),
            ("tyre_rate", STIFFEST),
        ):
            corners = checked(name, getattr(self, name), partial(_size, high=high))
            object.__setattr__(self, name, corners)
        object.__setattr__(self, "spring_y", _spring_places(self.spring_y))
        object.__setattr__(self, "height_points", _points(self.height_points))
        for name in ("front_axle", "rear_axle"):
            if getattr(self, name) not in ("solid", "independent"):
                raise BadInput(name, "must be 'solid' or 'independent'")

    @property
    def lead(self) -> float:
        """Wheelbase right minus wheelbase left, mm."""
        return self.wheelbase_right - self.wheelbase_left

    @property
    def wheelbase(self) -> float:
        """Mean of the two wheelbases, mm: the distance between the middles of the axles."""
        return 0.5 * (self.wheelbase_left + self.wheelbase_right)

    @property
    def wheels(self) -> tuple[Point, Point, Point, Point]:
        """Where the four tyres stand, (x, y) in mm, LF RF LR RR."""
        front, rear = 0.5 * self.track_front, 0.5 * self.track_rear
        return (
            (self.wheelbase_left, front),
            (self.wheelbase_right, -front),
            (0.0, rear),
            (0.0, -rear),
        )

    @property
    def springs(self) -> tuple[Point, Point, Point, Point]:
        """Where the four springs carry the frame, (x, y) in mm, LF RF LR RR."""
        lf, rf, lr, rr = self.wheels
        if self.front_axle == "solid":
            lf, rf = (self._on_front_axle(y) for y in self.spring_y[:2])
        if self.rear_axle == "solid":
            lr, rr = ((0.0, y) for y in self.spring_y[2:])
        return lf, rf, lr, rr

    def _on_front_axle(self, y: float) -> Point:
        return self.wheelbase - self.lead * y / self.track_front, y


def _size(quantity: str, value: float, high: float) -> float:
    return within(quantity, positive(quantity, value), SMALLEST, high)


def _spring_places(spring_y: Corners) -> Corners:
    places = checked("spring_y", spring_y, partial(within, low=-LONGEST, high=LONGEST))
    for axle, left, right in (
        ("front", places.lf, places.rf),
        ("rear", places.lr, places.rr),
    ):
        if left <= right:
            raise BadInput(f"spring_y {axle}", "the left spring must stand left of the right one")
    return places


def _points(points: Sequence[Point]) -> tuple[Point, ...]:
    if len(points) != 4 or any(len(point) != 2 for point in points):
        raise BadInput("height_points", "four points (x, y) are needed")
    return tuple((_place("x", x), _place("y", y)) for x, y in points)


def _place(axis: str, value: float) -> float:
    return within(f"height_points {axis}", value, -LONGEST, LONGEST)


@dataclass(frozen=True, slots=True, eq=False)
class Response:
    """What a car does, all linear. Columns: the corner acted on; rows: LF RF LR RR.

    ``loads_per_turn`` kg and ``heights_per_turn`` mm for one turn of a spring seat
    (plus: the seat winds down on the spring, the corner rises and takes load);
    ``loads_per_pad_mm`` kg and ``heights_per_pad_mm`` mm for a scale pad raised 1 mm.
    """

    chassis: Chassis
    loads_per_turn: Matrix
    heights_per_turn: Matrix
    loads_per_pad_mm: Matrix
    heights_per_pad_mm: Matrix
    _loads_by_plane: Matrix
    _heights_by_plane: Matrix

    def loads_per_kg(self, x: float, y: float) -> Corners:
        """Change of the four loads, kg, per kg put on the frame at (x, y) mm.

        A driver or a piece that moves is one kg less there and one more here.
        """
        return Corners.of((self._loads_by_plane @ self._plane(x, y)).tolist())

    def heights_per_kg(self, x: float, y: float) -> Corners:
        """Change of the four ride heights, mm, per kg put on the frame at (x, y) mm."""
        return Corners.of((self._heights_by_plane @ self._plane(x, y)).tolist())

    def _plane(self, x: float, y: float) -> Matrix:
        half = 0.5 * self.chassis.wheelbase
        x, y = within("x", x, -LONGEST, LONGEST), within("y", y, -LONGEST, LONGEST)
        return np.array([1.0, y / half, 1.0 - x / half])


def plane_rows(points: Sequence[Point], half: float) -> Matrix:
    """Rows (1, y/half, 1 - x/half): heave, roll and pitch of the frame at each point.

    Rotations are about the middle of the car and scaled by half the wheelbase, so
    that all freedoms are in mm and the stiffness is well conditioned.
    """
    rows = np.empty((4, 3))
    xy = np.array(points)
    rows[:, 0] = 1.0
    rows[:, 1] = xy[:, 1] / half
    rows[:, 2] = 1.0 - xy[:, 0] / half
    return rows


def _axle_rows(chassis: Chassis) -> Matrix:
    """Vertical travel of the axle under each spring from that of the four wheels."""
    rows = np.eye(4)
    y, front, rear = chassis.spring_y, chassis.track_front, chassis.track_rear
    if chassis.front_axle == "solid":
        rows[0, 0], rows[0, 1] = 0.5 + y.lf / front, 0.5 - y.lf / front
        rows[1, 0], rows[1, 1] = 0.5 + y.rf / front, 0.5 - y.rf / front
    if chassis.rear_axle == "solid":
        rows[2, 2], rows[2, 3] = 0.5 + y.lr / rear, 0.5 - y.lr / rear
        rows[3, 2], rows[3, 3] = 0.5 + y.rr / rear, 0.5 - y.rr / rear
    return rows


def spring_rows(chassis: Chassis) -> Matrix:
    """S, 4x7: spring compression from the freedoms, s = r (axle - frame)."""
    rows = np.empty((4, 7))
    rows[:, :3] = -plane_rows(chassis.springs, 0.5 * chassis.wheelbase)
    rows[:, 3:] = _axle_rows(chassis)
    rows *= np.array(chassis.motion_ratio)[:, None]
    return rows


def flexibility(springs: Matrix, rate: Matrix, tyre: Matrix) -> Matrix:
    """The inverse of K = S'kS + T'ktT; Singular where it is worthless."""
    stiffness = springs.T @ (rate[:, None] * springs)
    stiffness[[3, 4, 5, 6], [3, 4, 5, 6]] += tyre
    try:
        inverse: Matrix = np.asarray(np.linalg.inv(stiffness), dtype=np.float64)
    except np.linalg.LinAlgError:
        raise Singular("stiffness", "the springs do not hold the frame up") from None
    condition = np.abs(stiffness).sum(axis=0).max() * np.abs(inverse).sum(axis=0).max()
    if not condition < WORST_CONDITION:
        raise Singular(
            "stiffness",
            "rates, ratios or spring places are so unequal that no figure can be trusted",
        )
    return inverse


def response(chassis: Chassis) -> Response:
    """What turns, pads and weight do to this car's loads and heights.

    Seven freedoms q: heave, roll and pitch of the rigid frame, and the vertical
    travel of the four wheels (of a solid axle that is its heave and roll; of an
    independent one each wheel's own). With seat offsets p, pad heights z and a
    weight w on the frame at g = (1, y, -x)::

        spring compression  s = S q + p      s_i = r_i (axle_i - frame_i) + p_i
        tyre compression    t = T q + z      t_j = z_j - wheel_j
        K q = -S'k p - T'kt z - w g          K = S'kS + T'ktT
        load change         kt t / 9.80665   kg

    Assumes small travel (linear), springs and tyres of constant rate, no friction,
    no sideways load path, a frame and axles that do not bend or twist.
    Source: linear elastic equilibrium by least energy; derived here, and checked in
    the tests against a general frame program.
    Raises Singular where rates or places differ so much that the answer is noise.
    """
    springs = spring_rows(chassis)
    rate, tyre = np.array(chassis.spring_rate), np.array(chassis.tyre_rate)
    inverse = flexibility(springs, rate, tyre)
    heights = plane_rows(chassis.height_points, 0.5 * chassis.wheelbase) @ inverse[:3]
    loads = (-tyre / STANDARD_GRAVITY)[:, None] * inverse[3:]
    seat = springs.T * (-rate * np.array(chassis.thread))
    loads_per_pad = loads[:, 3:] * tyre
    loads_per_pad[[0, 1, 2, 3], [0, 1, 2, 3]] += tyre / STANDARD_GRAVITY
    return Response(
        chassis=chassis,
        loads_per_turn=loads @ seat,
        heights_per_turn=heights @ seat,
        loads_per_pad_mm=loads_per_pad,
        heights_per_pad_mm=heights[:, 3:] * tyre,
        _loads_by_plane=loads[:, :3] * -STANDARD_GRAVITY,
        _heights_by_plane=heights[:, :3] * -STANDARD_GRAVITY,
    )
