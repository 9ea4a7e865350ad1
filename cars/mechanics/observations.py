"""One logged change: what was turned, what the scales and the tape said, how well they say it."""

import math
from dataclasses import dataclass, field
from functools import partial
from typing import NamedTuple

import numpy as np

from cars.mechanics.chassis import LONGEST, Matrix, Response
from cars.mechanics.corners import CORNER_NAMES, Corners, checked
from cars.mechanics.errors import BadInput, positive, within
from cars.mechanics.loads import checked_loads

MOST_TURNS = 100.0  # in one change; more is a typing error

# What a noise can be; sharper or coarser is a typing error and would spoil the arithmetic.
NOISE_LIMITS = {
    "pad": (1e-4, 1e3),  # kg
    "tape": (1e-3, 1e3),  # mm
    "level": (0.0, 100.0),  # mm
    "total": (0.0, 100.0),  # kg
    "shift": (0.0, 1e5),  # kg mm
}


@dataclass(frozen=True, slots=True)
class Noise:
    """Standard uncertainties of one weighing and measuring.

    ``pad`` kg, of each pad, and ``tape`` mm, of each height: what differs from one
    reading to the next (a steady gain or zero error cancels between before and after).
    A tape read to 1/16 in: half-width 1/32 in, u = 25.4/32/sqrt(3) = 0.458 mm.
    Where the car leaves the pads between the two weighings, ``level`` mm is how
    differently high each pad is met; ``total`` kg how much fuel or clothing may have
    changed; ``shift`` kg mm how far weight may have moved, a driver of 40 kg who sits
    10 mm otherwise being 400.
    """

    pad: float
    tape: float
    level: float = 0.0
    total: float = 0.0
    shift: float = 0.0

    def __post_init__(self) -> None:
        """Refuse a reading said to be exact: it would outweigh everything else."""
        for name, (low, high) in NOISE_LIMITS.items():
            value = getattr(self, name)
            within(name, positive(name, value) if low else value, low, high)


@dataclass(frozen=True, slots=True)
class Observation:
    """Turns made at the four seats, with loads (kg) and heights (mm) before and after.

    Loads or heights may be missing as a pair, not both. Driver aboard, same fuel and
    pressures both times, or ``noise`` says how they differ.
    Raises BadInput for what cannot be read or turned, or where nothing was turned.
    """

    turns: Corners
    noise: Noise
    loads_before: Corners | None = None
    loads_after: Corners | None = None
    heights_before: Corners | None = None
    heights_after: Corners | None = None
    seen: Matrix = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        """Check every figure and keep the eight differences, nan-free."""
        turns = checked("turns", self.turns, checked_turn)
        if not any(turns):
            raise BadInput("turns", "nothing was turned, so nothing can be learnt")
        object.__setattr__(self, "turns", turns)
        loads = _difference("loads", self.loads_before, self.loads_after)
        heights = _difference("heights", self.heights_before, self.heights_after)
        if loads is None and heights is None:
            raise BadInput("loads", "neither loads nor heights were read before and after")
        zero = (0.0, 0.0, 0.0, 0.0)
        object.__setattr__(self, "seen", np.array([*(loads or zero), *(heights or zero)]))

    @property
    def has(self) -> tuple[bool, bool]:
        """Whether there are loads, and whether there are heights."""
        return self.loads_before is not None, self.heights_before is not None


def checked_turn(quantity: str, value: float) -> float:
    """Turns of one seat, a number within MOST_TURNS; BadInput otherwise."""
    return within(quantity, value, -MOST_TURNS, MOST_TURNS)


def _difference(
    name: str, before: Corners | None, after: Corners | None
) -> tuple[float, ...] | None:
    if before is None and after is None:
        return None
    if before is None or after is None:
        raise BadInput(name, "must be read both before and after the change")
    check = checked_loads if name == "loads" else _heights
    earlier, later = check(before, f"{name}_before"), check(after, f"{name}_after")
    return tuple(new - old for old, new in zip(earlier, later, strict=True))


def _heights(heights: Corners, quantity: str) -> Corners:
    return checked(quantity, heights, partial(within, low=-LONGEST, high=LONGEST))


def difference_covariance(car: Response, noise: Noise) -> Matrix:
    """Covariance, 8x8, of after minus before: four loads (kg), four heights (mm).

    Two readings each, so 2 u^2, plus what pads met at another height, changed fuel
    and a driver who sits otherwise do to all eight at once through the car's own
    response. Source: JCGM 100:2008, 5.2.2, with the linear model as the function.
    """
    base = 0.5 * car.chassis.wheelbase
    middle = _by_kg(car, base, 0.0)
    forward = _by_kg(car, base + 1.0, 0.0) - middle
    leftward = _by_kg(car, base, 1.0) - middle
    pads = np.concatenate((car.loads_per_pad_mm, car.heights_per_pad_mm))
    covariance = np.diag([2.0 * noise.pad**2] * 4 + [2.0 * noise.tape**2] * 4)
    covariance += 2.0 * noise.level**2 * (pads @ pads.T)
    covariance += noise.total**2 * np.outer(middle, middle)
    for one in (forward, leftward):
        covariance += noise.shift**2 * np.outer(one, one)
    return covariance


def _by_kg(car: Response, x: float, y: float) -> Matrix:
    return np.array([*car.loads_per_kg(x, y), *car.heights_per_kg(x, y)])


# What can be wrong with one observation, in the order of the components below.
KINDS = (
    "good",
    *(f"{name} load" for name in CORNER_NAMES),
    *(f"{name} height" for name in CORNER_NAMES),
    "turns",
    "everything",
)
OFF = 30.0  # a wrong reading is off by about so many standard uncertainties
TURNS_OFF = 2.0  # turns logged wrongly are off by about so many


class Components(NamedTuple):
    """One Gaussian for each way an observation can be, good first; see KINDS."""

    precisions: Matrix  # (11, 8, 8), zero where nothing was read
    logs: Matrix  # (11,) log prior probability minus half the log determinant
    covariances: Matrix  # (11, 8, 8)


def components(car: Response, noise: Noise, has: tuple[bool, bool], bad: float) -> Components:
    """The Gaussians of a good observation and of each way it can be bad.

    ``bad`` is the share of bad observations expected, spread evenly over the kinds
    that can occur: one reading off by about OFF standard uncertainties (a pad that
    sticks, a typing error), turns off by about TURNS_OFF at each seat (logged at the
    wrong corner or with the wrong sign), or everything (a part bent or swapped).
    """
    good = difference_covariance(car, noise)
    turning = np.concatenate((car.loads_per_turn, car.heights_per_turn))
    covariances = np.repeat(good[None], len(KINDS), axis=0)
    for place in range(8):
        covariances[1 + place, place, place] += OFF**2 * good[place, place]
    covariances[9] += TURNS_OFF**2 * (turning @ turning.T)
    covariances[10] *= OFF**2

    read = np.repeat(has, 4)
    possible = np.concatenate(([True], read, [True, True]))
    share = np.where(possible, bad / (np.count_nonzero(possible) - 1), 0.0)
    share[0] = 1.0 - bad
    block = np.ix_(np.arange(len(KINDS)), np.flatnonzero(read), np.flatnonzero(read))
    precisions = np.zeros_like(covariances)
    precisions[block] = np.linalg.inv(covariances[block])
    half = 0.5 * np.linalg.slogdet(covariances[block])[1]
    logs = np.where(possible, np.log(np.maximum(share, 1e-300)) - half, -math.inf)
    return Components(precisions, logs, covariances)
