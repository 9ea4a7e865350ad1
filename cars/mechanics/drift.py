"""How a car moves by itself: from how it was set to how it was found.

Any one unit per measure; a difference is found minus left. A sixteenth or an eighth of an inch
over a clean weekend is usual (common practice, no source); more than the tolerance and more than
this car's habit is news, where the tool can tell it from reading.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from statistics import median
from typing import Literal, NamedTuple

from cars.mechanics.errors import BadInput, TooThin, all_finite, finite, not_negative, positive

# MAD to standard deviation of a normal distribution: 1 / Phi^-1(3/4).
MAD_FACTOR = 1.482602218505602

# Weekends before a habit can be spoken of, and how many spreads from it count as unusual.
ENOUGH = 4
UNUSUAL = 3.0

# Differences of figures come to within this of what they are; a kept figure has ten places.
ROUNDING = 1e-9

Verdict = Literal[
    "within tolerance", "usual for this car", "too little to tell", "too few to tell", "moved"
]
NEWS_FIRST: tuple[Verdict, ...] = (
    *("moved", "too few to tell", "too little to tell", "usual for this car", "within tolerance"),
)


class Place(NamedTuple):
    """Which measure, at which spot."""

    measure: str
    spot: str


class Habit(NamedTuple):
    """The middle and the spread (as a standard deviation) of what a car usually does."""

    middle: float
    spread: float
    weekends: int


@dataclass(frozen=True, slots=True)
class Drift:
    """One place's latest difference, against its tolerance and the car's habit there."""

    place: Place
    difference: float
    tolerance: float
    habit: Habit | None
    verdict: Verdict
    u: float = 0.0  # standard uncertainty of one reading

    @property
    def tells(self) -> float:
        """The difference that two readings may show of a place that stood still: 3 sqrt(2) u."""
        return UNUSUAL * math.sqrt(2.0) * self.u


def differences(as_set: Mapping[Place, float], found: Mapping[Place, float]) -> dict[Place, float]:
    """Found minus set at every place that has both. Raises BadInput for one not finite."""
    return {
        place: finite(_name(place), found[place]) - finite(_name(place), as_set[place])
        for place in as_set
        if place in found
    }


def habit(past: Sequence[float]) -> Habit:
    """Median and MAD x 1.4826 of past differences: one wild weekend hardly moves either.

    Source: the usual normal-consistent MAD. Raises TooThin for no values, BadInput for one that
    is not finite.
    """
    values = all_finite("differences", past)
    if not values:
        raise TooThin("differences", "there is no earlier weekend to compare with")
    middle = median(values)
    spread = MAD_FACTOR * median(abs(value - middle) for value in values)
    return Habit(middle, spread, len(values))


def drift(
    latest: Mapping[Place, float],
    past: Sequence[Mapping[Place, float]],
    tolerances: Mapping[Place, float],
    *,
    u: Mapping[Place, float] | None = None,
) -> list[Drift]:
    """Judge each place's latest difference; the furthest beyond its tolerance first.

    A place has moved when |difference| is over its tolerance and |difference - middle| over
    three spreads of the car's habit and over 3 sqrt(2) u, `u` being the standard uncertainty of
    one reading. Usual is what the car's own habit covers, or what the tool cannot tell from a
    habit of moving. Where the habit is not to move and a tape read to a sixteenth now differs by
    a step, that is too little to tell: two readings of what stands still may differ by as much
    (JCGM 100:2008, F.2.2.1 and 5.1.2).
    With fewer than four earlier weekends nothing is called usual. Raises BadInput for a place
    without a positive tolerance or a value that is not finite.
    """
    judged = [
        _judge(place, finite(_name(place), value), past, tolerances, (u or {}).get(place, 0.0))
        for place, value in latest.items()
    ]
    return sorted(
        judged,
        key=lambda d: (NEWS_FIRST.index(d.verdict), -abs(d.difference) / d.tolerance, d.place),
    )


def _judge(
    place: Place,
    value: float,
    past: Sequence[Mapping[Place, float]],
    tolerances: Mapping[Place, float],
    u: float,
) -> Drift:
    if place not in tolerances:
        raise BadInput("tolerance", f"none is given for {_name(place)}")
    tolerance = positive(f"tolerance of {_name(place)}", tolerances[place])
    not_negative(f"u of {_name(place)}", u)
    earlier = [weekend[place] for weekend in past if place in weekend]
    usual = habit(earlier) if len(earlier) >= ENOUGH else None
    judged = Drift(place, value, tolerance, usual, "within tolerance", u)
    if not _over(abs(value), tolerance):
        return judged
    return replace(judged, verdict=_beyond(judged))


def _beyond(drift: Drift) -> Verdict:
    """What a difference beyond the tolerance says."""
    if drift.habit is None:
        close = not _over(abs(drift.difference), drift.tells)
        return "too little to tell" if close else "too few to tell"
    away = abs(drift.difference - drift.habit.middle)
    if not _over(away, UNUSUAL * drift.habit.spread):
        return "usual for this car"
    if _over(away, drift.tells):
        return "moved"
    moves = abs(drift.habit.middle) > ROUNDING
    return "usual for this car" if moves else "too little to tell"


def _over(value: float, limit: float) -> bool:
    """Whether the value is over the limit by more than the rounding of a subtraction."""
    return value - limit > ROUNDING


def _name(place: Place) -> str:
    return " ".join(place)
