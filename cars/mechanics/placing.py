"""Which pieces of ballast at which mounts: the search below ballast.py, in plain figures."""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from cars.mechanics.choose import Choice, least_cost
from cars.mechanics.errors import BadInput

Floats = NDArray[np.float64]
Whole = NDArray[np.int64]
Rules = tuple[Floats, Floats, Floats]  # rows, low and high: low <= rows @ x <= high

SAME_MASS = 1e-4  # kg; a tenth of a gram more or less is the same excess
NEAR = 0.1  # tolerances; a share missed by less counts as hit, which keeps the search short
EFFORT = 0.01  # tolerances that handling one more piece has to earn
MOST_SETS = 1 << 20


@dataclass(frozen=True, slots=True)
class Kind:
    """Pieces nobody can tell apart: ``count`` of ``mass`` kg, at mount ``home`` or loose."""

    mass: float
    count: int
    home: int | None


@dataclass(frozen=True, slots=True)
class Aim:
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

    def __init__(self, kinds: list[Kind], capacity: Floats, aim: Aim, seconds: float) -> None:
        self.kinds, self.capacity, self.aim, self.seconds = kinds, capacity, aim, seconds
        self.mass = np.array([kind.mass for kind in kinds])
        self.shape = (len(kinds), len(capacity))
        self.limits = np.array([kind.count for kind in kinds], dtype=np.int64)
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
        weigh = np.repeat(self.mass, self.shape[1])
        rules = self._rules(np.zeros_like(self.limits), self.limits, need, np.inf)
        found = self._choose(sign * weigh, rules)
        return None if found is None else float(weigh @ found.values)

    def _nearest(self, mass: float, base: float) -> Placed | None:
        """The placing of ``mass`` kg with the nearest shares; None where none fits the mounts."""
        alike = np.flatnonzero((self.sums >= mass - 1e-9) & (self.sums <= mass + SAME_MASS))
        sets = np.array(np.unravel_index(alike, tuple(self.limits + 1)))
        # The solver keeps rules to about a milligram; a set that much lighter is the same.
        rules = self._rules(
            sets.min(axis=1), sets.max(axis=1), mass - 1e-6, mass + SAME_MASS + 1e-6
        )
        cost, rules = self._with_misses(self._effort(), rules, base + mass)
        found = self._choose(cost, rules)
        if found is None:
            return None
        counts = found.values[: math.prod(self.shape)].astype(np.int64)
        return Placed(counts.reshape(self.shape), True, found.proven)

    def _choose(self, cost: Floats, rules: Rules) -> Choice | None:
        """HiGHS over the counts, and over one miss of at least ``NEAR`` for each goal."""
        whole, goals = math.prod(self.shape), len(cost) - math.prod(self.shape)
        low = np.concatenate([np.zeros(whole), np.full(goals, NEAR)])
        high = np.concatenate([np.repeat(self.limits, self.shape[1]), np.full(goals, np.inf)])
        return least_cost(cost, *rules, bounds=(low, high), whole=whole, seconds=self.seconds)

    def _effort(self) -> Floats:
        """Cost of each piece handled: one put anywhere, less one that stays at home.

        A fitted piece taken off costs as much as one moved; what does not depend on the
        choice is left out.
        """
        effort = np.full(self.shape, EFFORT)
        for row, kind in enumerate(self.kinds):
            if kind.home is not None:
                effort[row] = 0.0
                effort[row, kind.home] = -EFFORT
        return effort.ravel()

    def _rules(self, fewest: Whole, most: Whole, low: float, high: float) -> Rules:
        """Pieces of each kind, room at each mount and mass in all, as rows."""
        kinds, mounts = self.shape
        rows = np.vstack(
            [
                np.kron(np.eye(kinds), np.ones(mounts)),
                np.kron(self.mass, np.eye(mounts)),
                np.repeat(self.mass, mounts),
            ]
        )
        lows = np.concatenate([fewest, np.full(mounts, -np.inf), [low]])
        return rows, lows, np.concatenate([most, self.capacity, [high]])

    def _with_misses(self, effort: Floats, rules: Rules, total: float) -> tuple[Floats, Rules]:
        """Add a real value e to every goal: e >= |share - goal|/tolerance in a car of ``total``."""
        aim, (rows, low, high) = self.aim, rules
        goals = len(aim.goal)
        per_piece = np.kron(self.mass, aim.per_kg / (total * aim.tolerance[:, None]))
        start = (aim.start / total - aim.goal) / aim.tolerance
        above = np.hstack([np.vstack([per_piece, -per_piece]), np.tile(-np.eye(goals), (2, 1))])
        plain = np.hstack([rows, np.zeros((len(rows), goals))])
        return np.concatenate([effort, np.ones(goals)]), (
            np.vstack([plain, above]),
            np.concatenate([low, np.full(2 * goals, -np.inf)]),
            np.concatenate([high, -start, start]),
        )
