"""The whole-number point nearest to a target, exactly, inside a box, with few non-zero places.

Turns are made in whole steps, so the answer to 'what do I turn' is a point of a
lattice and not the rounding of a real solution, which can be far from the best.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from cars.mechanics.errors import BadInput

Floats = NDArray[np.float64]
Whole = NDArray[np.int64]

SAME = 1e-6  # sums of squares nearer than this count as equal: a thousandth of a tolerance
MOST_AT_ONCE = 1 << 18  # candidates held at one time, so that memory stays small
MOST_TRIED = 50_000_000  # candidates in all: seconds, not minutes
LONGEST_SIDE = 100_000  # values of one place
NEGLIGIBLE = 1e-12  # of the largest entry: a pivot that carries no information


class TooFine(BadInput):
    """The grid has more points than can be searched."""

    def __init__(self) -> None:
        """Name the grid; the caller knows what its step and its box are called."""
        super().__init__("grid", "too fine to search: make the step larger or the box smaller")


@dataclass(frozen=True, slots=True)
class Nearest:
    """A whole-number point and the sum of squares it leaves."""

    point: tuple[int, ...]
    cost: float

    @property
    def used(self) -> int:
        """How many places of the point are not zero."""
        return sum(1 for place in self.point if place)


def nearest_points(
    matrix: ArrayLike,
    target: ArrayLike,
    least: Sequence[int],
    most: Sequence[int],
    *,
    most_nonzero: int | None = None,
    same: float = SAME,
) -> list[Nearest]:
    """The best whole-number n with at most 1, 2, ... ``most_nonzero`` places not zero.

    Minimises |A n - b|^2 over least <= n <= most, A = ``matrix`` (rows, places),
    b = ``target`` (rows), in whatever unit b has, squared. Among points whose sums
    differ from the smallest by at most ``same``: fewest places not zero, then the
    smallest sum of |n|, then the first in order of the places. No sum counts as less
    than ``same`` above what real numbers without bounds would leave, so that places
    which can hardly better it are not used.

    Exact: for every choice of places A = QR turns the sum of squares into one term
    per place; a partial sum above the best sum known, with what the box leaves over
    in the terms to come, rules out all that would follow (an enumeration as by Fincke
    and Pohst, Math. Comp. 44 (1985) 463, from memory; here level by level in arrays).
    A may have any rank: a place without a pivot is tried at each of its values.

    Raises BadInput for shapes that do not fit, figures that are not finite, bounds
    that leave out zero, and a grid too fine to search (a step too small for the box).
    """
    rows, goal = _checked_system(matrix, target)
    places = rows.shape[1]
    low, high = _checked_box(places, least, most)
    limit = places if most_nonzero is None else most_nonzero
    if not 1 <= limit <= places:
        raise BadInput("most_nonzero", f"must be between 1 and {places}, not {limit}")
    if not (math.isfinite(same) and same >= 0.0):
        raise BadInput("same", f"must be zero or more, not {same!r}")
    search = _Search(rows, goal, low, high, same)
    return [search.widen(count) for count in range(1, limit + 1)]


def _checked_system(matrix: ArrayLike, target: ArrayLike) -> tuple[Floats, Floats]:
    rows = np.array(matrix, dtype=np.float64)
    goal = np.array(target, dtype=np.float64)
    if rows.ndim != 2 or rows.size == 0 or goal.shape != rows.shape[:1]:
        raise BadInput("matrix", f"shapes {rows.shape} and {goal.shape} do not fit together")
    if not (np.isfinite(rows).all() and np.isfinite(goal).all()):
        raise BadInput("matrix", "every figure must be finite")
    missing = rows.shape[1] - rows.shape[0]
    if missing > 0:  # empty rows make R square, so that one search serves every rank
        rows = np.vstack([rows, np.zeros((missing, rows.shape[1]))])
        goal = np.concatenate([goal, np.zeros(missing)])
    return rows, goal


def _checked_box(places: int, least: Sequence[int], most: Sequence[int]) -> tuple[Whole, Whole]:
    low, high = np.array(least, dtype=np.int64), np.array(most, dtype=np.int64)
    if low.shape != (places,) or high.shape != (places,):
        raise BadInput("box", f"{places} lower and {places} upper bounds are needed")
    if (low > 0).any() or (high < 0).any():
        raise BadInput("box", "leaving a place alone (zero) must be inside the box")
    if (high - low).max() > LONGEST_SIDE:
        raise TooFine
    return low, high


class _Search:
    """The best points found so far, while more and more places may be used."""

    def __init__(self, rows: Floats, goal: Floats, low: Whole, high: Whole, same: float) -> None:
        self.rows, self.goal, self.low, self.high, self.same = rows, goal, low, high, same
        self.points: Whole = np.zeros((1, rows.shape[1]), dtype=np.int64)
        self.costs: Floats = np.array([float(goal @ goal)])
        self.tried = 0
        real = np.linalg.lstsq(rows, goal, rcond=None)[0]
        self.floor = float(((rows @ real - goal) ** 2).sum()) + same

    @property
    def best(self) -> float:
        """The smallest sum of squares that counts: never below what reals would leave."""
        return max(float(self.costs.min()), self.floor)

    def widen(self, count: int) -> Nearest:
        """Search every choice of ``count`` places; the best point of all until now."""
        if self.costs.min() <= self.floor:
            return self._best()
        for chosen, r, y, rest in self._factored(count):
            if rest > self.best + self.same:
                break
            tree = _Tree(self, list(chosen), r, y, rest)
            tree.search()
            self._keep(chosen, tree)
        return self._best()

    def _factored(self, count: int) -> list[tuple[tuple[int, ...], Floats, Floats, float]]:
        """R, y and rest of every choice of ``count`` places, the most promising first."""
        choices = list(combinations(range(self.rows.shape[1]), count))
        q, r = np.linalg.qr(self.rows[:, choices].transpose(1, 0, 2))
        y = self.goal @ q
        outside = self.goal - (q @ y[:, :, None])[:, :, 0]
        rests = (outside * outside).sum(axis=1).tolist()
        return sorted(zip(choices, r, y, rests, strict=True), key=lambda each: each[3])

    def spend(self, candidates: int) -> None:
        """Count candidates, and give up where the grid is finer than can be searched."""
        self.tried += candidates
        if self.tried > MOST_TRIED:
            raise TooFine

    def _keep(self, chosen: tuple[int, ...], tree: "_Tree") -> None:
        if not tree.found:
            return
        few = np.concatenate(tree.found, axis=1)
        points = np.zeros((few.shape[1], self.rows.shape[1]), dtype=np.int64)
        points[:, list(chosen)] = few.T
        misses = points @ self.rows.T - self.goal
        points = np.vstack([self.points, points])
        costs = np.concatenate([self.costs, np.einsum("ij,ij->i", misses, misses)])
        near = costs <= max(float(costs.min()), self.floor) + self.same
        self.points, self.costs = points[near], costs[near]

    def _best(self) -> Nearest:
        rows = np.arange(len(self.costs))
        for key in (np.count_nonzero(self.points, axis=1), np.abs(self.points).sum(axis=1)):
            rows = rows[key[rows] == key[rows].min()]
        row = min(rows, key=lambda r: tuple(self.points[r]))
        return Nearest(tuple(self.points[row].tolist()), float(self.costs[row]))


class _Tree:
    """The places ``chosen``, searched from the last to the first.

    With A = QR on those places and y = Q'b the sum of squares is ``rest`` plus, for
    each place i, (R_ii n_i + sum over j > i of R_ij n_j - y_i)^2.
    """

    def __init__(
        self, search: _Search, columns: list[int], r: Floats, y: Floats, rest: float
    ) -> None:
        self.r, self.y, self.rest = r, y, rest
        self.tiny = NEGLIGIBLE * float(np.abs(self.r).max())
        self.low, self.high = search.low[columns], search.high[columns]
        ends = self.r * self.low, self.r * self.high
        self.row_low = np.cumsum(np.minimum(*ends), axis=1)  # of places 0 .. j together
        self.row_high = np.cumsum(np.maximum(*ends), axis=1)
        self.whole = search
        self.limit = search.best + search.same
        self.found: list[Floats] = []

    def search(self) -> None:
        """Collect every point that is no worse than the best by more than ``same``."""
        self._tighten(self.rest + self._greedy())
        places = len(self.low)
        self._descend(places - 1, np.array([self.rest]), np.zeros((places, 1)))

    def _tighten(self, cost: float) -> None:
        self.limit = min(self.limit, max(cost, self.whole.floor) + self.whole.same)

    def _greedy(self) -> float:
        """Sum of squares of a first good point: each place rounded in turn, last first."""
        cost, point = 0.0, np.zeros(len(self.low))
        for i in range(len(self.low) - 1, -1, -1):
            aim = self.y[i] - self.r[i] @ point
            point[i] = self._rounded(i, aim)
            cost += (self.r[i, i] * point[i] - aim) ** 2
        return float(cost)

    def _rounded(self, i: int, aim: Floats) -> Floats:
        """The best whole number at place i by itself: exact, the term is a parabola."""
        if abs(self.r[i, i]) <= self.tiny:
            return np.zeros_like(aim)
        best = np.clip(np.rint(aim / self.r[i, i]), self.low[i], self.high[i])
        return np.asarray(best, dtype=np.float64)

    def _descend(self, i: int, cost: Floats, points: Floats) -> None:
        """Continue every partial point (a column of ``points``) at place i."""
        aim = self.y[i] - self.r[i, i + 1 :] @ points[i + 1 :]
        if i == 0:
            ends = cost + (self.r[0, 0] * self._rounded(0, aim) - aim) ** 2
            self._tighten(float(ends.min()))
            near = ends <= self.limit
            cost, points, aim = cost[near], points[:, near], aim[near]
        low, counts = self._range(i, cost, aim)
        total = int(counts.sum())
        self.whole.spend(total)
        parts = min(len(cost), math.ceil(total / MOST_AT_ONCE))
        for part in np.array_split(np.arange(len(cost)), parts) if parts > 1 else [slice(None)]:
            self._spread(i, cost[part], points[:, part], aim[part], (low[part], counts[part]))

    def _range(self, i: int, cost: Floats, aim: Floats) -> tuple[Floats, Whole]:
        """First value and number of values of place i that stay within the limit."""
        pivot = float(self.r[i, i])
        if abs(pivot) <= self.tiny:  # no pivot: all values cost the same, the first place rests
            low = 0 if i == 0 else int(self.low[i])
            high = 0 if i == 0 else int(self.high[i])
            return np.full(len(cost), float(low)), np.full(len(cost), high - low + 1)
        middle = aim / pivot
        reach = np.sqrt(np.maximum(self.limit - cost, 0.0)) / abs(pivot) + 1e-9
        low_value = np.maximum(np.ceil(middle - reach), self.low[i])
        high_value = np.minimum(np.floor(middle + reach), self.high[i])
        return low_value, np.maximum(high_value - low_value + 1.0, 0.0).astype(np.int64)

    def _spread(
        self, i: int, cost: Floats, points: Floats, aim: Floats, spans: tuple[Floats, Whole]
    ) -> None:
        low, counts = spans
        total = int(counts.sum())
        if total == 0:
            return
        parent = np.repeat(np.arange(len(cost)), counts)
        first = np.cumsum(counts) - counts
        values = low[parent] + (np.arange(total) - first[parent])
        cost = cost[parent] + (self.r[i, i] * values - aim[parent]) ** 2
        points = points[:, parent]
        points[i] = values
        if i == 0:
            self.found.append(points)
            return
        near = cost + self._at_least(i, points) <= self.limit
        if near.any():
            self._descend(i - 1, cost[near], points[:, near])

    def _at_least(self, i: int, points: Floats) -> Floats:
        """What the terms before place i must still cost, whatever the box allows there."""
        aim = self.y[:i, None] - self.r[:i, i:] @ points[i:]
        short = aim - np.clip(aim, self.row_low[:i, i - 1, None], self.row_high[:i, i - 1, None])
        return np.asarray(np.einsum("ij,ij->j", short, short))
