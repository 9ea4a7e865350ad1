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
    `spots` are where it is, `units` what a change of it is counted in; `more` and `less` say what
    the plus and the minus of an amount are to the hand.
    """

    slug: str
    name: str
    step: str
    measures: tuple[str, ...] = ()
    spots: tuple[str, ...] = ()
    units: tuple[str, ...] = ()
    more: str = ""
    less: str = ""


CORNERS = ("LF", "RF", "LR", "RR")
SIDES = ("left", "right")
AXLES = ("front", "rear")
_LENGTH, _ANGLE, _TURN = ("in", "mm"), ("deg",), ("turn",)
_LONGER = ("Longer", "Shorter")


def _rods(axle: str, measures: Iterable[str]) -> list[Adjuster]:
    step = f"{axle}-axle"
    return [
        Adjuster(
            f"{axle}-rod-{place}",
            f"{axle} {place} rod",
            step,
            (f"{axle}-rod-{place}", *measures),
            SIDES,
            _TURN,
            *_LONGER,
        )
        for place in ("upper", "lower")
    ]


_REAR_READS = ("rear-square", "rear-bar", "carrier-rotation")
_FRONT_READS = ("front-square", "front-panel", "axle-tilt")
_BALLAST_READS = ("ballast-total", "ballast-fixed", "ballast-labelled")

# Which way is more is as the measures count it: further right, toe-out, top out of the car.
_ALL = (
    Adjuster(
        SPRING_SEAT,
        "spring seat",
        "ride-heights",
        ("seat-thread",),
        CORNERS,
        _TURN,
        "Down on the spring",
        "Up, off it",
    ),
    *_rods("rear", _REAR_READS),
    # The lengths are between the bolts wherever those are; the axle is somewhere else.
    Adjuster(
        "rear-rod-hole",
        "hole of the rear rods at the frame",
        "rear-axle",
        ("rear-rod-holes", *_REAR_READS),
        (*SIDES, "rear"),
        ("hole",),
        "Up",
        "Down",
    ),
    Adjuster(
        "lead",
        "lead by the rear rods",
        "rear-axle",
        ("rear-rod-upper", "rear-rod-lower", "wheelbase", *_REAR_READS),
        ("rear",),
        _LENGTH,
        "More lead",
        "Less lead",
    ),
    *_rods("front", _FRONT_READS),
    Adjuster(
        "panhard-rod",
        "panhard rod",
        "front-axle",
        ("front-lateral",),
        ("front",),
        _TURN,
        *_LONGER,
    ),
    Adjuster(
        "side-to-side",
        "front axle side to side",
        "front-axle",
        ("front-lateral",),
        ("front",),
        _LENGTH,
        "To the right",
        "To the left",
    ),
    Adjuster(
        "steering-rod",
        "steering rod",
        "steering",
        ("steering-rod", "toe"),
        SIDES,
        _TURN,
        *_LONGER,
    ),
    Adjuster(
        "toe",
        "toe",
        "steering",
        ("toe", "steering-rod"),
        ("front",),
        _LENGTH,
        "Toe-out",
        "Toe-in",
    ),
    # Its marks are set to what is read there now; an amount of them is none.
    Adjuster(BLOCK, "kingpin block", "kingpin", ("block-marks", "camber", "caster"), SIDES),
    Adjuster(
        "caster",
        "caster",
        "kingpin",
        ("caster", "camber", "block-marks"),
        SIDES,
        _ANGLE,
        "More caster",
        "Less caster",
    ),
    Adjuster(
        "camber",
        "camber",
        "kingpin",
        ("camber", "caster", "block-marks"),
        SIDES,
        _ANGLE,
        "Top out",
        "Top in",
    ),
    Adjuster(
        "pressure",
        "tyre pressure",
        "tyres",
        ("pressure", "circumference"),
        CORNERS,
        ("psi",),
        "Blown up",
        "Let down",
    ),
    Adjuster("tyre", "tyre", "tyres", ("pressure", "circumference"), CORNERS, ("1",), "Swapped"),
    Adjuster(
        "stagger",
        "stagger by a tyre of another roll-out",
        "tyres",
        ("pressure", "circumference"),
        AXLES,
        _LENGTH,
        "More stagger",
        "Less stagger",
    ),
    Adjuster(
        "wheel-spacer",
        "wheel spacer",
        "lead",
        ("track-width",),
        CORNERS,
        _LENGTH,
        "Wheel out",
        "Wheel in",
    ),
    Adjuster(
        "spring",
        "spring",
        "springs-dampers",
        ("spring-rate", "seat-thread"),
        CORNERS,
        ("lb/in", "N/mm"),
        "Stiffer",
        "Softer",
    ),
    Adjuster(
        "damper",
        "damper",
        "springs-dampers",
        ("damper-gas", "seat-thread"),
        CORNERS,
        ("click",),
        "Stiffer",
        "Softer",
    ),
    Adjuster(
        "ballast",
        "ballast",
        "ballast",
        _BALLAST_READS,
        ("car", *AXLES, *SIDES, *CORNERS),
        ("lb", "kg"),
        "Added",
        "Taken off",
    ),
    Adjuster(
        "ballast-height",
        "ballast moved up or down",
        "ballast",
        ("ballast-fixed",),
        ("car",),
        _LENGTH,
        "Up",
        "Down",
    ),
    Adjuster(
        "ballast-forward",
        "ballast moved along the car",
        "ballast",
        ("ballast-fixed",),
        ("car",),
        _LENGTH,
        "Forward",
        "Back",
    ),
    Adjuster(
        "ballast-left",
        "ballast moved across the car",
        "ballast",
        ("ballast-fixed",),
        ("car",),
        _LENGTH,
        "To the left",
        "To the right",
    ),
    Adjuster(
        "gearing",
        "sprocket",
        "gearing",
        ("teeth-driving", "teeth-driven", "chain-slack"),
        ("car",),
        ("tooth",),
        "More teeth",
        "Fewer teeth",
    ),
    Adjuster("chain", "chain", "gearing", ("chain-slack",), ("car",), ("1",), "Swapped"),
    Adjuster("engine", "engine", "gearing", ("chain-slack",), ("car",), ("1",), "Swapped"),
)
ADJUSTERS = {adjuster.slug: adjuster for adjuster in _ALL}

# Lead is set with the rods of an axle; heights and scales are turned at the spring seats.
_ALSO = {
    "lead": {"lead", "front-rod-lower", "rear-rod-lower", "rear-rod-upper"},
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
