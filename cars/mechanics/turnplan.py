"""What a plan of turns is asked for and what it says."""

import math
from dataclasses import dataclass
from typing import Literal

from cars.mechanics.corners import CORNER_NAMES, Corners, checked
from cars.mechanics.errors import BadInput, not_negative, within
from cars.mechanics.goals import Goal, Miss

Reason = Literal["contradict", "room", "adjusters", "step", "lift"]

MOST_ROOM = 1000.0  # turns; no seat has more
ONE_GO = 1.0  # turns made at one corner before the others follow
NO_HEIGHTS: tuple[Goal | None, ...] = (None, None, None, None)


@dataclass(frozen=True, slots=True)
class TurnTarget:
    """Cross (a fraction) and four ride heights (mm; LF RF LR RR), each optional."""

    cross: Goal | None = None
    heights: tuple[Goal | None, ...] = NO_HEIGHTS

    def __post_init__(self) -> None:
        """Refuse a target that asks for nothing."""
        if len(self.heights) != len(CORNER_NAMES):
            raise BadInput("target", "four height goals are needed, None where there is none")
        if self.cross is None and all(goal is None for goal in self.heights):
            raise BadInput("target", "at least one of cross and the four heights is needed")
        if self.cross is not None:
            within("target cross", self.cross.value, 0.0, 1.0)


@dataclass(frozen=True, slots=True)
class Room:
    """Thread left at each seat, in turns either way, none negative.

    ``plus`` winds the seat down on the spring and lifts the corner, ``minus`` lets it off.
    """

    plus: Corners
    minus: Corners

    def __post_init__(self) -> None:
        """Name the corner whose room cannot be."""
        for name in ("plus", "minus"):
            object.__setattr__(
                self, name, checked(f"room {name}", getattr(self, name), turns_of_room)
            )

    @classmethod
    def same(cls, turns: float) -> "Room":
        """The same room at every seat, both ways."""
        return cls(Corners.same(turns), Corners.same(turns))


def turns_of_room(quantity: str, value: float) -> float:
    """Turns a seat may have left one way; BadInput for what no seat has."""
    return not_negative(quantity, value, MOST_ROOM)


@dataclass(frozen=True, slots=True)
class Move:
    """One handful of turns at one corner, in the order they are made."""

    corner: str
    turns: float


@dataclass(frozen=True, slots=True)
class Shortfall:
    """Why a plan does not bring every target within its tolerance.

    ``contradict``: no turns at all would do it, thread without end included: a rigid
    frame cannot stand at these heights with this cross. ``room``: the thread left does
    not reach. ``adjusters``: more corners would have to be turned. ``step``: it lies
    between whole steps. ``lift``: a wheel would come off its pad, where nothing of this
    holds any more. ``targets`` are missed, ``ends`` are the corners at the end of their
    thread, ``lifted`` the corners without load.
    """

    reason: Reason
    targets: tuple[str, ...]
    ends: tuple[str, ...] = ()
    lifted: tuple[str, ...] = ()

    def __str__(self) -> str:
        """Say it in a sentence."""
        why = {
            "contradict": "no turns can bring these targets together",
            "room": "the thread left does not reach",
            "adjusters": "more corners have to be turned",
            "step": "the steps are too coarse, or one target has to give",
            "lift": f"{' and '.join(self.lifted)} would come off the pad",
        }[self.reason]
        missed = f"{', '.join(self.targets)} out of tolerance: " if self.targets else ""
        ends = f" (no room left at {', '.join(self.ends)})" if self.ends else ""
        return f"{missed}{why}{ends}"


@dataclass(frozen=True, slots=True)
class TurnPlan:
    """What to turn with at most ``allowed`` adjusters, and what it is predicted to give.

    ``turns`` per corner, plus lifts; ``loads`` kg, ``heights`` mm (None where none were
    read), ``cross`` a fraction with its standard uncertainty ``u_cross`` from the pads;
    ``miss`` the sum of squared ``misses``. ``shortfall`` is None where every target
    comes within its tolerance. A prediction: weigh again.
    """

    allowed: int
    turns: Corners
    loads: Corners
    heights: Corners | None
    cross: float
    u_cross: float
    misses: tuple[Miss, ...]
    miss: float
    moves: tuple[Move, ...]
    shortfall: Shortfall | None

    @property
    def adjusters(self) -> int:
        """How many corners are turned at all."""
        return sum(1 for turns in self.turns if turns)

    @property
    def turning(self) -> float:
        """Turns made in all, whichever way."""
        return sum(abs(turns) for turns in self.turns)


def moves_of(turns: Corners, step: float) -> tuple[Move, ...]:
    """The turns in goes of at most one turn, let off before wound down, longest first.

    Round and round until done, so that no corner runs ahead. Common practice, no source.
    """
    go = max(1, math.floor(ONE_GO / step + 1e-9)) * step
    remaining = dict(zip(CORNER_NAMES, turns, strict=True))
    moves = []
    while any(remaining.values()):
        rising = {name: to_go > 0.0 for name, to_go in remaining.items()}
        for name in sorted(remaining, key=lambda corner: (rising[corner], -abs(remaining[corner]))):
            if remaining[name]:
                part = math.copysign(min(go, abs(remaining[name])), remaining[name])
                moves.append(Move(name, part))
                remaining[name] = 0.0 if abs(remaining[name]) <= go else remaining[name] - part
    return tuple(moves)
