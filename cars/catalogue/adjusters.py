"""What can be turned, moved or swapped on a car, and which readings that touches."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

SPRING_SEAT: Final = "spring-seat"
BLOCK: Final = "block"
# The unit of a change that set something to what is read there now, and not by an amount.
MARKS_SET: Final = "set"

# The corners that a spot stands for.
_CORNERS = {
    **{corner: frozenset({corner}) for corner in ("LF", "RF", "LR", "RR")},
    "front": frozenset({"LF", "RF"}),
    "rear": frozenset({"LR", "RR"}),
    "left": frozenset({"LF", "LR"}),
    "right": frozenset({"RF", "RR"}),
    "car": frozenset({"LF", "RF", "LR", "RR"}),
}


def touch(spot: str, other: str) -> bool:
    """Whether two spots have a corner in common."""
    return bool(_CORNERS[spot] & _CORNERS[other])


@dataclass(frozen=True, slots=True)
class Adjuster:
    """One thing that is adjusted: the step it belongs to, and the measures that read it.

    A change makes stale what its step makes stale, and its own measures where it was made.
    """

    slug: str
    name: str
    step: str
    measures: tuple[str, ...] = ()


def _rods(axle: str, measures: Iterable[str]) -> list[Adjuster]:
    step = f"{axle}-axle"
    return [
        Adjuster(
            f"{axle}-rod-{place}",
            f"{axle} {place} rod",
            step,
            (f"{axle}-rod-{place}", *measures),
        )
        for place in ("upper", "lower")
    ]


_REAR_READS = ("rear-square", "rear-bar", "carrier-rotation")
_FRONT_READS = ("front-square", "front-panel", "axle-tilt")

_ALL = (
    Adjuster(SPRING_SEAT, "spring seat", "ride-heights", ("seat-thread",)),
    *_rods("rear", _REAR_READS),
    *_rods("front", _FRONT_READS),
    Adjuster("panhard-rod", "panhard rod", "front-axle", ("front-lateral",)),
    Adjuster("steering-rod", "steering rod", "steering", ("steering-rod", "toe")),
    Adjuster(BLOCK, "kingpin block", "kingpin", ("block-marks", "camber", "caster")),
    Adjuster("pressure", "tyre pressure", "tyres", ("pressure", "circumference")),
    Adjuster("tyre", "tyre", "tyres", ("pressure", "circumference")),
    Adjuster("spring", "spring", "springs-dampers", ("spring-rate", "seat-thread")),
    Adjuster("damper", "damper", "springs-dampers", ("damper-gas", "seat-thread")),
    Adjuster(
        "ballast", "ballast", "ballast", ("ballast-total", "ballast-fixed", "ballast-labelled")
    ),
    Adjuster("gearing", "sprocket", "gearing", ("teeth-driving", "teeth-driven", "chain-slack")),
)
ADJUSTERS = {adjuster.slug: adjuster for adjuster in _ALL}

# Lead is set with the rods of an axle; heights and scales are turned at the spring seats.
_ALSO = {
    "lead": {"front-rod-lower", "rear-rod-lower", "rear-rod-upper"},
    "ride-heights": {SPRING_SEAT},
    "scales": {SPRING_SEAT, "ballast", "pressure"},
}

# Said without the axle: the spot tells which.
_EITHER_AXLE = {"upper-rod": "rod-upper", "lower-rod": "rod-lower"}


def adjusters_in(step: str) -> list[Adjuster]:
    """What is turned or moved in a step; everything where the step has nothing of its own."""
    also = _ALSO.get(step, set())
    own = [each for each in _ALL if each.step == step or each.slug in also]
    return own or list(_ALL)


def adjusters_at(slug: str, spot: str) -> list[Adjuster]:
    """The adjusters that `slug` means at a spot; a rod at one side may be of either axle.

    Nothing is known of what a word outside the table touches: an empty list.
    """
    if slug in ADJUSTERS:
        return [ADJUSTERS[slug]]
    if slug in _EITHER_AXLE:
        return [
            ADJUSTERS[f"{axle}-{_EITHER_AXLE[slug]}"]
            for axle in ("front", "rear")
            if touch(axle, spot)
        ]
    return []
