"""The kingpin: camber as the wheel is steered, and caster from a sweep. Degrees throughout.

Caster is plus with the top of the kingpin rearward, inclination plus with its top inward, camber
plus with the top of the wheel outward, steer plus with the front of the wheel turned outward
(a left wheel steered left). What a car's own blocks give is in `BlockChart`.
"""

import math
from typing import NamedTuple

import numpy as np

from cars.mechanics.blocks import BlockChart, BlockChoice, BlockReading, Suggestion
from cars.mechanics.errors import OutOfReach, Singular, not_negative, within

__all__ = [
    "BlockChart",
    "BlockChoice",
    "BlockReading",
    "Suggestion",
    "Sweep",
    "camber_of",
    "caster_from_sweep",
    "quick_caster",
]

STEEPEST = 40.0  # no wheel or kingpin of a running car leans further
LEAST_STEER, MOST_STEER = 2.0, 45.0

# Sensitivities by central differences; the relation is smooth, so this step (degrees) leaves
# about nine digits.
_STEP = 1e-4


class Sweep(NamedTuple):
    """Caster and kingpin inclination read by a sweep, with their standard uncertainties."""

    caster: float
    inclination: float
    u_caster: float
    u_inclination: float


def camber_of(caster: float, inclination: float, gamma_0: float, steer: float) -> float:
    """Camber at a steer angle, given the camber `gamma_0` straight ahead.

    The wheel's axle keeps its angle to the kingpin while it turns about it, so
    sin g + tan k cos d cos g - tan c sin d cos g = sin g0 + tan k cos g0, solved for g; d is the
    angle on a turn plate. Assumes a rigid spindle and a level floor. Source: rotation about a
    fixed axis, derived here. Raises BadInput for an angle over 40 degrees (steer over 45),
    OutOfReach when no camber satisfies the relation.
    """
    c, k = math.tan(_lean("caster", caster)), math.tan(_lean("inclination", inclination))
    g0, d = _lean("gamma_0", gamma_0), _lean("steer", steer, MOST_STEER)
    # sin g + b cos g is one sine, shifted: sqrt(1 + b^2) sin(g + atan b).
    b = k * math.cos(d) - c * math.sin(d)
    level = (math.sin(g0) + k * math.cos(g0)) / math.hypot(1.0, b)
    if abs(level) > 1.0:
        raise OutOfReach("steer", f"the wheel cannot turn {steer:g} degrees about this kingpin")
    return math.degrees(math.asin(level) - math.atan(b))


def caster_from_sweep(
    gamma_0: float,
    gamma_plus: float,
    gamma_minus: float,
    steer: float,
    *,
    u: float = 0.0,
    u_steer: float = 0.0,
) -> Sweep:
    """Caster and kingpin inclination from camber read straight ahead and at +-`steer`.

    The relation in `camber_of`, taken at both ends, is linear in tan(caster) and
    tan(inclination): a 2x2 system. `u` is the standard uncertainty of each camber reading,
    `u_steer` of each turn-plate reading; they propagate to first order (JCGM 100, 5.1.2). The
    inclination hangs on 1 - cos(steer) and is far less sure than the caster. Source: as
    `camber_of`. Raises BadInput for an angle out of range, Singular for a sweep too small to
    tell (under 2 degrees), OutOfReach for readings that no kingpin gives.
    """
    for name, value in (("gamma_0", gamma_0), ("gamma_plus", gamma_plus)):
        _lean(name, value)
    _lean("gamma_minus", gamma_minus)
    if abs(within("steer", steer, -MOST_STEER, MOST_STEER)) < LEAST_STEER:
        raise Singular("steer", f"a sweep of {steer:g} degrees is too small to show caster")
    readings = np.array([gamma_0, gamma_plus, gamma_minus, steer, -steer], dtype=float)
    sure = [not_negative("u", u)] * 3 + [not_negative("u_steer", u_steer)] * 2
    caster, inclination = _solve(readings)
    for name, angle in (("caster", caster), ("inclination", inclination)):
        if abs(angle) > STEEPEST:
            raise OutOfReach(name, f"these cambers would mean {angle:.0f} degrees; read again")
    u_caster, u_inclination = np.hypot.reduce(_sensitivities(readings) * sure, axis=1)
    return Sweep(caster, inclination, float(u_caster), float(u_inclination))


def quick_caster(gamma_plus: float, gamma_minus: float, steer: float) -> float:
    """The workshop's short cut: (g+ - g-) / (2 sin d).

    Common practice, no source; the tests find it high by 0.01 to 0.1 degree at 20 degrees of steer
    with 4 to 8 of caster. Raises as `caster_from_sweep`.
    """
    if abs(within("steer", steer, -MOST_STEER, MOST_STEER)) < LEAST_STEER:
        raise Singular("steer", f"a sweep of {steer:g} degrees is too small to show caster")
    swing = _lean("gamma_plus", gamma_plus) - _lean("gamma_minus", gamma_minus)
    return math.degrees(swing) / (2.0 * math.sin(math.radians(steer)))


def _lean(name: str, degrees: float, most: float = STEEPEST) -> float:
    return math.radians(within(name, degrees, -most, most))


def _solve(readings: np.ndarray[tuple[int], np.dtype[np.float64]]) -> tuple[float, float]:
    g0, gp, gm, dp, dm = np.radians(readings)
    matrix = [
        [-math.sin(d) * math.cos(g), math.cos(d) * math.cos(g) - math.cos(g0)]
        for g, d in ((gp, dp), (gm, dm))
    ]
    right = [math.sin(g0) - math.sin(gp), math.sin(g0) - math.sin(gm)]
    tan_c, tan_k = np.linalg.solve(matrix, right)
    return math.degrees(math.atan(tan_c)), math.degrees(math.atan(tan_k))


def _sensitivities(
    readings: np.ndarray[tuple[int], np.dtype[np.float64]],
) -> np.ndarray[tuple[int, int], np.dtype[np.float64]]:
    """Degrees of caster and inclination per degree of each reading, 2 x 5."""
    steps = np.eye(len(readings)) * _STEP
    columns = [
        np.subtract(_solve(readings + step), _solve(readings - step)) / (2.0 * _STEP)
        for step in steps
    ]
    return np.column_stack(columns)
