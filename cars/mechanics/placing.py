"""Which pieces of ballast at which mounts: the search below ballast.py, in plain figures."""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from cars.mechanics.choose import Rules, least_cost
from cars.mechanics.errors import BadInput

Floats = NDArray[np.float64]
Whole = NDArray[np.int64]

SAME_MASS = 1e-4  # kg; a tenth of a gram more or less is the same excess
NEAR = 0.25  # tolerances; a share missed by less counts as hit: the proof of more takes seconds
EFFORT = 0.05  # tolerances that handling one more piece has to earn
MOST_SETS = 1 << 20


@dataclass(frozen=True, slots=True)
class PieceKind:
    """``count`` pieces of ``mass`` kg each, so many of them at ``home`` at each mount."""

    mass: float
    count: int
    home: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class PlacingTarget:
    """Shares wanted: share = (start + per_kg @ kg at each mount)/total, one row per goal."""

    start: Floats
    per_kg: Floats
    goal: Floats
    tolerance: Floats


@dataclass(frozen=True, slots=True)
class Placed:
    """How many of each kind (rows) go to each mount (columns); ``reached`` the mass needed?"""

    counts: Whole
    reached: bool
    proven: bool


class Placing:
    """Kinds of pieces, mounts of limited capacity, and the mass that is needed."""

    def __init__(
        self, kinds: list[PieceKind], capacity: Floats, aim: PlacingTarget, seconds: float
    ) -> None:
        self.kinds, self.capacity, self.aim, self.seconds = kinds, capacity, aim, seconds
        self.mass = np.array([kind.mass for kind in kinds])
        self.shape = (len(kinds), len(capacity))
        self.limits = np.array([kind.count for kind in kinds], dtype=np.int64)
        self.home = np.array([kind.home for kind in kinds], dtype=np.float64)
        self.proven = True
        self.sums = self._sums()

    def _sums(self) -> Floats:
        """The mass of every set of pieces; its place in the list says which set it is."""
        if math.prod(kind.count + 1 for kind in self.kinds) > MOST_SETS:
            raise BadInput("pieces", "too many different loose pieces: offer fewer of them")
        sums = np.zeros(1)
        for kind in self.kinds:
            sums = np.add.outer(sums, kind.mass * np.arange(kind.count + 1)).ravel()
        return sums

    def solve(self, need: float, base: float) -> Placed:
        """Reach ``need`` kg with the least mass, then the shares; ``base`` kg is without pieces.

        Where no set that fits is enough: the most that fits, ``reached`` False.
        """
        if not self.kinds:
            return Placed(np.zeros(self.shape, dtype=np.int64), need <= 1e-9, True)
        enough = self.sums[self.sums >= need - 1e-9]
        if enough.size:
            placed = self._nearest(float(enough.min()), base)
            if placed is None:  # the lightest set does not fit: let the solver pack
                least = self._packed(1.0, float(enough.min()) + SAME_MASS)
                placed = None if least is None else self._nearest(least, base)
            if placed is not None:
                return placed
        most = self._packed(-1.0, 0.0)
        placed = None if most is None else self._nearest(most, base)
        if placed is None:
            raise BadInput("mounts", "cannot hold what is on them")
        return Placed(placed.counts, False, placed.proven)

    def _packed(self, sign: float, need: float) -> float | None:
        """The least (sign 1) or greatest (-1) mass of at least ``need`` that the mounts hold."""
        kinds, mounts = self.shape
        weigh = np.repeat(self.mass, mounts)
        rows = np.vstack([self._per_kind(), self._per_mount(), weigh])
        low = np.concatenate([np.full(kinds + mounts, -np.inf), [need]])
        high = np.concatenate([self.limits, self.capacity, [np.inf]])
        choice = least_cost(
            sign * weigh,
            (rows, low, high),
            bounds=(np.zeros_like(weigh), np.repeat(self.limits, mounts)),
            whole=len(weigh),
            seconds=self.seconds,
        )
        if choice is None:
            return None
        self.proven &= choice.proven
        return float(weigh @ choice.values)

    def _nearest(self, mass: float, base: float) -> Placed | None:
        """The placing of ``mass`` kg with the nearest shares; None where none fits the mounts.

        Whole values: x, how many of each kind go to each mount; z, which of the sets of
        that mass it is. Real ones: s, how many of each kind stay at home at each mount;
        h, how many of each kind are handled; e, the miss of each goal, at least ``NEAR``.
        """
        alike = np.flatnonzero((self.sums >= mass - 1e-9) & (self.sums <= mass + SAME_MASS))
        sets = np.array(np.unravel_index(alike, tuple(self.limits + 1)), dtype=np.float64)
        (kinds, mounts), goals, none = self.shape, len(self.aim.goal), np.zeros
        pairs, whole = kinds * mounts, kinds * mounts + len(alike)
        stays, free = self.home.ravel(), np.full(kinds + goals, np.inf)
        choice = least_cost(
            np.concatenate([none(whole + pairs), np.full(kinds, EFFORT), np.ones(goals)]),
            self._rules(sets, base + mass),
            bounds=(
                np.concatenate([none(whole + pairs + kinds), np.full(goals, NEAR)]),
                np.concatenate([np.repeat(self.limits, mounts), np.ones(len(alike)), stays, free]),
            ),
            whole=whole,
            seconds=self.seconds,
        )
        if choice is None:
            return None
        self.proven &= choice.proven
        counts = choice.values[:pairs].astype(np.int64)
        return Placed(counts.reshape(self.shape), True, self.proven)

    def _rules(self, sets: Floats, total: float) -> Rules:
        """The pieces of one set, each at a mount with room; h and e no less than they must be.

        Naming the sets one by one is far quicker to solve than a rule on the mass,
        which rules out little until all is decided. Of N pieces placed and F fitted
        before, S stay: max(N, F) - S are handled, for one that moves is handled once.
        """
        kinds, mounts = self.shape
        misses, start = self._misses(total)
        per_kind, each = self._per_kind(), np.eye(kinds * mounts)
        kind, goal = np.eye(kinds), np.eye(len(start))
        widths = {"x": len(each), "z": sets.shape[1], "s": len(each), "h": kinds, "e": len(start)}

        def rule(**parts: Floats) -> Floats:
            height = len(next(iter(parts.values())))
            blank = {name: np.zeros((height, width)) for name, width in widths.items()}
            return np.hstack([parts.get(name, zeros) for name, zeros in blank.items()])

        none, one = np.zeros(kinds), np.ones(1)
        same = [
            (rule(x=per_kind, z=-sets), none),
            (rule(z=np.ones((1, sets.shape[1]))), one),
        ]
        at_most = [
            (rule(x=self._per_mount()), self.capacity),
            (rule(s=each, x=-each), np.zeros(len(each))),
            (rule(x=per_kind, s=-per_kind, h=-kind), none),
            (rule(s=-per_kind, h=-kind), -self.home.sum(axis=1)),
            (rule(x=misses, e=-goal), -start),
            (rule(x=-misses, e=-goal), start),
        ]
        rows = np.vstack([row for row, _ in same + at_most])
        high = np.concatenate([limit for _, limit in same + at_most])
        low = np.full(len(high), -np.inf)
        low[: kinds + 1] = high[: kinds + 1]
        return rows, low, high

    def _per_kind(self) -> Floats:
        """Rows that count the pieces of each kind."""
        return np.asarray(np.kron(np.eye(self.shape[0]), np.ones(self.shape[1])), dtype=np.float64)

    def _per_mount(self) -> Floats:
        """Rows that weigh what each mount holds."""
        return np.asarray(np.kron(self.mass, np.eye(self.shape[1])), dtype=np.float64)

    def _misses(self, total: float) -> tuple[Floats, Floats]:
        """miss = rows @ x + start, in tolerances, one row per goal, in a car of ``total`` kg."""
        aim = self.aim
        rows = np.kron(self.mass, aim.per_kg / (total * aim.tolerance[:, None]))
        return np.asarray(rows, dtype=np.float64), (aim.start / total - aim.goal) / aim.tolerance
