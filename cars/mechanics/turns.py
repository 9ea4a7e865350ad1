"""What to turn at the spring seats to bring four ride heights and cross to target together."""

import math

import numpy as np
import scipy
from numpy.typing import NDArray

from cars.mechanics.chassis import LONGEST, Response
from cars.mechanics.corners import CORNER_NAMES, Corners, checked
from cars.mechanics.errors import BadInput, not_negative, within
from cars.mechanics.goals import Miss
from cars.mechanics.lattice import Nearest, TooFine, nearest_points
from cars.mechanics.loads import HEAVIEST, checked_loads
from cars.mechanics.turnplan import (
    MOST_ROOM,
    Reason,
    Room,
    Shortfall,
    TurnPlan,
    TurnTarget,
    moves_of,
    turns_of_room,
)

Floats = NDArray[np.float64]

FINEST_STEP = 1e-3  # turns; nobody turns less
USUAL_ROOM = 6.0  # turns each way where nobody has counted the thread that is left


def plan_turns(
    loads: Corners,
    heights: Corners | None,
    response: Response,
    target: TurnTarget,
    *,
    step: float = 0.25,
    room: Room | float | None = None,
    most_adjusters: int = 4,
    u: float | Corners = 0.0,
) -> list[TurnPlan]:
    """The best turns with at most 1, 2, ... ``most_adjusters`` adjusters, one plan each.

    With whole numbers n of ``step`` turns at each seat, n within ``room``::

        cross(n)   = cross + step sum_j (L_RF,j + L_LR,j) n_j / T
        heights(n) = heights + step H n
        minimise   sum ((predicted - goal) / tolerance)^2

    L and H are ``response``'s loads (kg) and heights (mm) per turn; turns do not change
    the total T, so cross is linear in n too. Sums that differ by less than 1e-6 count
    as equal; then the fewest adjusters win, then the least turning. The result is the
    optimum over the whole grid and not a rounded real solution (see lattice.py). A plan
    may turn fewer corners than it is allowed; then more corners would not help.

    Moves: nobody puts six turns on one corner and then walks to the next. Corners are
    turned by at most one turn at a time, those let off before those wound down, the
    longest way to go first, round and round until done, so that the car never stands
    far from where it was and no spring takes more than it has to on the way (common
    practice, no source). Wind seats with the weight off them, as the chassis maker says;
    a car on stands and a compressed spring hurt people.

    ``loads`` kg, ``heights`` mm (None where no height is a target), ``room`` in turns,
    6 each way where it is not given, ``u`` standard uncertainty of the pads, kg (one
    figure or one per corner). Assumes the linear model of ``response``.
    Source: least squares; enumeration as in lattice.py. Raises BadInput for wrong
    figures, heights that are wanted but not given, and a step too small for the room.
    """
    problem = _Problem(loads, heights, response, target, step=step, room=room)
    spread = checked("u", u if isinstance(u, tuple) else Corners.same(u), _spread)
    if most_adjusters not in (1, 2, 3, 4):
        raise BadInput("most_adjusters", f"must be 1, 2, 3 or 4, not {most_adjusters!r}")
    nearest = problem.solve(most_adjusters)
    reached = not any(miss.outside for miss in problem.misses(problem.turns(nearest[-1])))
    fault: Reason = "adjusters" if reached else problem.fault(most_adjusters)
    return [
        problem.plan(allowed, problem.turns(best), spread, fault)
        for allowed, best in enumerate(nearest, start=1)
    ]


class _Problem:
    """The targets as rows: miss = slope @ turns + start, all in tolerances."""

    def __init__(
        self,
        loads: Corners,
        heights: Corners | None,
        response: Response,
        target: TurnTarget,
        *,
        step: float,
        room: Room | float | None,
    ) -> None:
        self.loads = checked_loads(loads)
        self.heights = None if heights is None else checked("heights", heights, _height)
        self.response = response
        self.step = within("step", step, FINEST_STEP, MOST_ROOM)
        self.room = room if isinstance(room, Room) else Room.same(_usual(room))
        self.names, self.slope, self.start = self._rows(target)

    def _rows(self, target: TurnTarget) -> tuple[list[str], Floats, Floats]:
        names, slopes, starts = [], [], []
        if target.cross is not None:
            names.append("cross")
            slopes.append(self._cross_slope() / target.cross.tolerance)
            starts.append(target.cross.miss(self._cross(self.loads)))
        for place, goal in enumerate(target.heights):
            if goal is None:
                continue
            if self.heights is None:
                raise BadInput("heights", f"{CORNER_NAMES[place]} is a target but was not read")
            names.append(f"height {CORNER_NAMES[place]}")
            slopes.append(self.response.heights_per_turn[place] / goal.tolerance)
            starts.append(goal.miss(self.heights[place]))
        return names, np.array(slopes), np.array(starts)

    def _cross(self, loads: Corners) -> float:
        return (loads.rf + loads.lr) / sum(self.loads)

    def _cross_slope(self) -> Floats:
        per_turn = self.response.loads_per_turn
        return np.asarray((per_turn[1] + per_turn[2]) / sum(self.loads))

    def solve(self, most_adjusters: int) -> list[Nearest]:
        """The best whole steps for every number of adjusters."""
        # A room of 1.75 turns holds seven quarters, although 1.75 / 0.25 may round below 7.
        most = [math.floor(turns / self.step + 1e-9) for turns in self.room.plus]
        least = [-math.floor(turns / self.step + 1e-9) for turns in self.room.minus]
        try:
            return nearest_points(
                self.slope * self.step, -self.start, least, most, most_nonzero=most_adjusters
            )
        except TooFine as refused:
            raise BadInput("step", "too small to search all of this room") from refused

    def turns(self, nearest: Nearest) -> Corners:
        """Whole steps as turns."""
        return Corners.of(place * self.step for place in nearest.point)

    def misses(self, turns: Corners) -> tuple[Miss, ...]:
        """Every target's predicted miss."""
        values = (self.slope @ np.array(turns) + self.start).tolist()
        return tuple(Miss(name, value) for name, value in zip(self.names, values, strict=True))

    def plan(self, allowed: int, turns: Corners, spread: Corners, fault: Reason) -> TurnPlan:
        """What these turns are predicted to give."""
        by = np.array(turns)
        loads = Corners.of((np.array(self.loads) + self.response.loads_per_turn @ by).tolist())
        lift = (self.response.heights_per_turn @ by).tolist()
        misses, cross = self.misses(turns), self._cross(loads)
        inside = ((a - cross) * s for a, s in zip((0.0, 1.0, 1.0, 0.0), spread, strict=True))
        return TurnPlan(
            allowed=allowed,
            turns=turns,
            loads=loads,
            heights=_sum(self.heights, lift),
            cross=cross,
            u_cross=math.hypot(*inside) / sum(self.loads),
            misses=misses,
            miss=sum(miss.tolerances**2 for miss in misses),
            moves=moves_of(turns, self.step),
            shortfall=self._shortfall(turns, loads, misses, fault),
        )

    def _shortfall(
        self, turns: Corners, loads: Corners, misses: tuple[Miss, ...], fault: Reason
    ) -> Shortfall | None:
        targets = tuple(miss.target for miss in misses if miss.outside)
        lifted = tuple(n for n, load in zip(CORNER_NAMES, loads, strict=True) if load < 0.0)
        if not targets and not lifted:
            return None
        limits = zip(CORNER_NAMES, turns, self.room.plus, self.room.minus, strict=True)
        ends = tuple(
            name
            for name, made, plus, minus in limits
            if made + self.step > plus + 1e-9 or made - self.step < -minus - 1e-9
        )
        return Shortfall("lift" if lifted else fault, targets, ends, lifted)

    def fault(self, most_adjusters: int) -> Reason:
        """Why the best plan of all still misses: whether any real turns at all would do."""
        if not self._possible(bounded=False):
            return "contradict"
        if not self._possible(bounded=True):
            return "room"
        return "step" if most_adjusters == len(CORNER_NAMES) else "adjusters"

    def _possible(self, *, bounded: bool) -> bool:
        """Whether real turns t, within the room or without end, keep every |miss| <= 1.

        The shortest t with G t >= h is a non-negative least squares problem whose residual
        is 1/sqrt(1 + |t|^2), and zero where no t keeps all rules (Lawson and Hanson,
        Solving Least Squares Problems (1974), chapter 23, from memory).
        """
        edge = 1.0 + 1e-7
        rules = [-self.slope, self.slope]
        limits = [self.start - edge, -self.start - edge]
        if bounded:
            rules += [-np.eye(4), np.eye(4)]
            limits += [-np.array(self.room.plus), -np.array(self.room.minus)]
        columns = np.vstack([np.vstack(rules).T, np.concatenate(limits)])
        _, residual = scipy.optimize.nnls(
            columns, np.array([0.0, 0.0, 0.0, 0.0, 1.0]), maxiter=1000
        )
        return float(residual) > 1.0 / math.hypot(1.0, 100.0 * MOST_ROOM)


def _height(quantity: str, value: float) -> float:
    return within(quantity, value, -LONGEST, LONGEST)


def _spread(quantity: str, value: float) -> float:
    return not_negative(quantity, value, HEAVIEST)


def _usual(room: float | None) -> float:
    return USUAL_ROOM if room is None else turns_of_room("room", room)


def _sum(heights: Corners | None, lift: list[float]) -> Corners | None:
    if heights is None:
        return None
    return Corners.of(height + by for height, by in zip(heights, lift, strict=True))
