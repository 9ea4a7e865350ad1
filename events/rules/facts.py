"""What is known of a car and driver when rules are checked: plain values, each optional.

Canonical units: masses kg, lengths mm, shares of the weight in percent. None means that nobody
has looked; an empty collection means that somebody looked and there was none.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from typing import NamedTuple

from clubsetup.quantities.uncertainty import Estimate

SPOTS = ("LF", "RF", "LR", "RR", "front", "rear", "left", "right", "car")


class Stage(StrEnum):
    """When a car is weighed."""

    ENTRY = "entry"
    AFTER = "after"


class ScaleDoubt(StrEnum):
    """Why a weight's uncertainty is not known: no passed check of that day stands behind it."""

    NONE = ""
    UNCHECKED = "unchecked"
    FAILED = "failed"


class Where(NamedTuple):
    """A measure, by its slug in the catalogue, and the spot it is taken at."""

    measure: str
    spot: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PieceSeen:
    """One piece of ballast as an official saw it.

    `label` is the name or car number that can be read on it, empty when there is none;
    `marked_mass` the weight written on it; `weighed_mass` what it weighs; `fixed` whether it
    holds, None when nobody tried.
    """

    label: str = ""
    marked_mass: float | None = None
    weighed_mass: Estimate | None = None
    place: str = ""
    fixed: bool | None = None

    @property
    def name(self) -> str:
        """How to speak of the piece at the head of a sentence."""
        where = f" at {self.place[:60]}" if self.place else ""
        return f"Piece marked {self.label[:40]}{where}" if self.label else f"Unmarked piece{where}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Facts:
    """The evidence for one entry at one moment.

    `weight` is the total as it came to the scales at `stage`, with or without the driver
    (`driver_in`) and fuel (`tank_empty`); `scales` says whether a check stands behind it.
    `age_eligible` is the
    answer to the class's age rule, and all that is told of a birth date. `own_labels` are the names
    and numbers that may stand on this car's ballast; empty when any will do.

    `pieces` are those looked at; `unseen` counts the others that the team says are on the car, and
    `off` those on record as not on it. `changed` says what has changed the car's mass since it was
    weighed, `driver_changed` since one of the two weighings that `driver_weight` rests on; empty:
    nothing on record has. `spots` are those at which each measure is taken.
    """

    stage: Stage | None = None
    driver_in: bool | None = None
    tank_empty: bool | None = None
    weight: Estimate | None = None
    scales: ScaleDoubt = ScaleDoubt.NONE
    left: Estimate | None = None
    rear: Estimate | None = None
    cross: Estimate | None = None
    driver_weight: Estimate | None = None
    age_eligible: bool | None = None
    own_labels: tuple[str, ...] = ()
    pieces: tuple[PieceSeen, ...] | None = None
    unseen: int = 0
    off: int = 0
    changed: str = ""
    driver_changed: str = ""
    readings: Mapping[Where, Estimate] | None = field(default=None)
    spots: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
