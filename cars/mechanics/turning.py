"""Lead and stagger against the corner: how much the car turns by itself.

Plane kinematics without slip: what a car would do rolling slowly. Lengths mm, angles degrees,
left turns plus, so that lead (the right wheelbase the longer) and stagger (the right tyre the
larger) are plus on an oval run to the left.
"""

import math

from cars.mechanics.chassis import Chassis
from cars.mechanics.errors import BadInput, OutOfReach, finite, positive, within

LARGEST_LEAD = 500.0


def lead(wheelbase_left: float, wheelbase_right: float) -> float:
    """Wheelbase right minus wheelbase left, mm. Raises BadInput for one that is not positive."""
    return positive("wheelbase_right", wheelbase_right) - positive("wheelbase_left", wheelbase_left)


def lead_radius(chassis: Chassis, lead: float) -> float:
    """Radius of the circle that `lead` alone makes the car run on, mm; minus turns right.

    The front axle stands skewed by delta = atan(lead / front track); the car rolls about the
    point where both axle lines meet, R = L / tan(delta) to the middle of the rear axle, L the
    mean wheelbase. Without lead the car runs straight: infinity. Assumes no slip, rear axle
    square. Source: the single-track relation R = L / tan delta. Raises BadInput for a lead that
    no car has.
    """
    skew = math.tan(_skew(chassis, lead))
    return math.inf if skew == 0 else chassis.wheelbase / skew


def lead_for(chassis: Chassis, corner_radius: float) -> float:
    """The lead that makes the car run on `corner_radius` by itself, mm.

    The inverse of `lead_radius`: lead = front track L / R. Plus for a left corner. Same
    assumptions and source. Raises BadInput for a radius that the car does not fit in.
    """
    return chassis.track_front * math.tan(_corner_angle(chassis, corner_radius))


def stagger_radius(track: float, c_outer: float, c_inner: float) -> float:
    """Radius that a solid axle with tyres of two circumferences rolls on, to its middle, mm.

    A rolling cone: both wheels turn together, so (R + t/2) / (R - t/2) = Co / Ci and
    R = t (Co + Ci) / (2 (Co - Ci)). Equal tyres roll straight: infinity; minus when the tyre
    called inner is the larger. `track` is between the middles of the treads. Assumes no slip
    and no camber. Source: similar triangles. Raises BadInput for a length that is not positive.
    """
    t = positive("track", track)
    outer, inner = positive("c_outer", c_outer), positive("c_inner", c_inner)
    return math.inf if outer == inner else t * (outer + inner) / (2.0 * (outer - inner))


def outer_for(track: float, radius: float, c_inner: float) -> float:
    """Circumference of the outer tyre that rolls on `radius` with an inner tyre `c_inner`, mm.

    Co = Ci (2R + t) / (2R - t), `stagger_radius` solved for Co; same assumptions. Raises
    OutOfReach when the middle of the axle would run inside half a track, BadInput otherwise.
    """
    t, inner = positive("track", track), positive("c_inner", c_inner)
    r = positive("radius", radius)
    if 2.0 * r <= t:
        raise OutOfReach("radius", f"{r:g} mm is inside the inner tyre of a {t:g} mm track")
    return inner * (2.0 * r + t) / (2.0 * r - t)


def stagger_for(track: float, radius: float, c_inner: float) -> float:
    """The stagger Co - Ci that rolls freely on `radius`, mm; see `outer_for`."""
    return outer_for(track, radius, c_inner) - c_inner


def hand_angle(chassis: Chassis, corner_radius: float, lead: float, steering_ratio: float) -> float:
    """How far from straight the hands are left to hold in the corner, degrees; plus is left.

    The corner asks for atan(L / R) at the front wheels, the lead gives atan(lead / front track)
    of it, and the hands make up the rest times the steering ratio (degrees at the steering wheel
    per degree at the road wheels). Zero is what the handler is after; minus means the hands
    steer against the lead. R is to the middle of the rear axle; slip angles are left out, so a
    loose or a tight car differs. Source: single-track relation as in `lead_radius`. Raises
    BadInput for a radius the car does not fit in, a lead no car has or a ratio not positive.
    """
    wanted = _corner_angle(chassis, corner_radius)
    ratio = positive("steering_ratio", steering_ratio)
    return ratio * math.degrees(wanted - _skew(chassis, lead))


def _skew(chassis: Chassis, lead_mm: float) -> float:
    lead_mm = within("lead", lead_mm, -LARGEST_LEAD, LARGEST_LEAD)
    return math.atan(lead_mm / chassis.track_front)


def _corner_angle(chassis: Chassis, corner_radius: float) -> float:
    if math.isinf(corner_radius):
        return 0.0
    if abs(finite("corner_radius", corner_radius)) <= 0.5 * chassis.track_rear:
        raise BadInput("corner_radius", f"{corner_radius:g} mm is inside the car's own track")
    return math.atan(chassis.wheelbase / corner_radius)
