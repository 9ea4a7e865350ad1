"""How much ballast, which pieces and where, to be legal at the scales after the race."""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

import numpy as np
import scipy
from numpy.typing import NDArray

from cars.mechanics.ballastplan import (
    BallastOutOfReach,
    BallastPlan,
    Handling,
    Mount,
    Piece,
    ShareTargets,
    check_fit,
)
from cars.mechanics.chassis import Chassis, Point, Response, response
from cars.mechanics.corners import Corners
from cars.mechanics.errors import BadInput, not_negative, positive
from cars.mechanics.goals import Goal, Miss
from cars.mechanics.loads import HEAVIEST, Shares, checked_loads, shares
from cars.mechanics.onboard import INSIDE, WeightChange, weigh_again, weight_change
from cars.mechanics.placing import PieceKind, Placed, Placing, PlacingTarget

Floats = NDArray[np.float64]

USUAL_TOLERANCE = 0.005  # of the present shares, where no target is given


def plan_ballast(
    loads: Corners,
    chassis: Chassis,
    pieces: Sequence[Piece],
    mounts: Sequence[Mount],
    *,
    minimum: float,
    margin: float,
    fuel_now: float,
    fuel_at_weighing: float,
    targets: ShareTargets | None = None,
    u: float | Corners = 0.0,
    tank: Point | None = None,
    u_fuel: float = 0.0,
    u_scale: float = 0.0,
    seconds: float = 5.0,
) -> list[BallastPlan]:
    """Which pieces at which mounts make the car legal at the weighing; the best plan first.

    ``loads`` (kg) are read with the driver seated, ``fuel_now`` kg in the ``tank`` (x, y)
    and the fitted pieces on. With x = 1 where a piece goes to a mount, in this order::

        W = T - fuel_now + fuel_at_weighing + sum of masses added - taken off
        1. reach     W >= minimum + margin, no mount above its capacity
        2. minimise  W - minimum - margin           (to a tenth of a gram)
        3. minimise  sum over left, rear, cross of max(|share - goal|/tolerance, 0.25)
                     + 0.05 for each piece handled

    Shares are those the scales will read next, with ``fuel_now``. Step 2 settles the
    total, so a share is linear in x and step 3 is a linear whole-number program (HiGHS,
    branch and cut): exact but for the tenth of a gram, under 1e-6 of a share.
    A share within a quarter of its tolerance counts as hit, and handling one piece more
    has to earn a twentieth of a tolerance. Without ``targets`` the shares are kept as they
    are, within half a percent. If the best plan moves or takes off a fitted piece, the
    best that leaves all of them alone follows, where there is one.

    Exactness: step 2 looks at every set of pieces, equal ones as one kind; step 3 is
    proven by the solver to a millionth of its sum, or, where ``seconds`` for one search
    run out, the plan says that it is not ``proven``.

    Uncertainty: standard, kg: ``u`` of the pads, each piece's own (only where it is
    added or taken off; one that stays is in the reading), ``u_fuel`` of the fuel used,
    ``u_scale`` of the scale that decides, uncorrelated. p(under) = Phi((minimum - W)/u_W).

    Assumes the linear model of ``response``; tank and mounts on the sprung frame.
    Ballast that comes loose hurts people: a bolt through each piece into a mount made
    for it, as maker and rulebook say, and weigh again.

    Source: JCGM 100:2008, 5.1.2; JCGM 106:2012, 7 (from memory). Raises BadInput for wrong
    figures, a mount that cannot hold what is fitted to it, and too many different
    pieces; BallastOutOfReach, with the nearest plan, where the pieces are not enough.
    """
    check_fit(pieces, mounts)
    loads, car = checked_loads(loads), response(chassis)
    weighing = _Weighing(
        loads=loads,
        u=u,
        response=car,
        mounts=tuple(mounts),
        fuel=_fuel(car, fuel_now, fuel_at_weighing, tank=tank, u=u_fuel),
        u_scale=not_negative("u_scale", u_scale, HEAVIEST),
        minimum=positive("minimum", minimum, HEAVIEST),
        margin=not_negative("margin", margin, HEAVIEST),
        goals=_goals(targets, shares(loads, u)),
        seconds=positive("seconds", seconds),
    )
    best = weighing.plan(pieces)
    if all(handling.before is None for handling in best.handling):
        return [best]
    left_alone = [replace(piece, stays=piece.fitted is not None) for piece in pieces]
    try:
        return [best, weighing.plan(left_alone)]
    except BallastOutOfReach:
        return [best]


def _fuel(
    car: Response, now: float, at_weighing: float, *, tank: Point | None, u: float
) -> WeightChange:
    """What the fuel does between the scales now and the weighing."""
    now = not_negative("fuel_now", now, HEAVIEST)
    at_weighing = not_negative("fuel_at_weighing", at_weighing, HEAVIEST)
    if tank is None:
        if now != at_weighing or u != 0.0:
            raise BadInput("tank", "its place is needed where fuel is used or filled up")
        tank = (0.0, 0.0)
    return weight_change(car, at_weighing - now, before=None, after=tank, u=u)


def _goals(targets: ShareTargets | None, present: Shares) -> dict[str, Goal]:
    """The goals by share; without targets, the shares as they are."""
    if targets is None:
        return {name: Goal(getattr(present, name), USUAL_TOLERANCE) for name in INSIDE}
    wanted = {name: getattr(targets, name) for name in INSIDE}
    return {name: goal for name, goal in wanted.items() if goal is not None}


@dataclass(frozen=True, slots=True)
class _Weighing:
    """The car as the scales read it now, and what the weighing will ask of it."""

    loads: Corners
    u: float | Corners
    response: Response
    mounts: tuple[Mount, ...]
    fuel: WeightChange
    u_scale: float
    minimum: float
    margin: float
    goals: dict[str, Goal]
    seconds: float

    def plan(self, pieces: Sequence[Piece]) -> BallastPlan:
        """The best plan for these pieces; BallastOutOfReach carries the nearest one."""
        capacity = self._capacity(pieces)
        free = [piece for piece in pieces if not piece.stays]
        unusable = [p for p in free if p.fitted is None and all(p.mass > capacity + 1e-9)]
        kinds = _kinds(piece for piece in free if piece not in unusable)
        bare = self._bare(free)
        if sum(bare) <= 0.0:
            raise BadInput("pieces", "the fitted ones weigh more than the car does with them")
        need = self.minimum + self.margin - sum(bare) - sum(self.fuel.loads)
        numbered = [PieceKind(kind[0].mass, len(kind), self._home(kind)) for kind in kinds]
        placed = Placing(numbered, capacity, self._aim(bare), self.seconds).solve(need, sum(bare))
        plan = self._predict(pieces, self._destinations(kinds, placed))
        plan = replace(plan, unusable=tuple(p.name for p in unusable), proven=placed.proven)
        if not placed.reached:
            raise BallastOutOfReach(plan, -plan.excess)
        return plan

    def _number(self, mount: str | None) -> int | None:
        names = [each.name for each in self.mounts]
        return None if mount is None else names.index(mount)

    def _capacity(self, pieces: Iterable[Piece]) -> Floats:
        capacity = np.array([mount.capacity for mount in self.mounts])
        for piece in pieces:
            if piece.stays:
                capacity[self._number(piece.fitted)] -= piece.mass
        return capacity

    def _bare(self, free: Iterable[Piece]) -> Floats:
        """The four loads with every piece that may be moved taken off."""
        bare = np.array(self.loads)
        for piece in free:
            mount = self._mount(piece.fitted)
            if mount is not None:
                bare -= piece.mass * np.array(self.response.loads_per_kg(*mount))
        return bare

    def _mount(self, name: str | None) -> Point | None:
        return next(((m.x, m.y) for m in self.mounts if m.name == name), None)

    def _aim(self, bare: Floats) -> PlacingTarget:
        """The goals in terms of kg at each mount."""
        inside = np.array([INSIDE[name] for name in self.goals]).reshape(-1, 4)
        per_kg = [self.response.loads_per_kg(mount.x, mount.y) for mount in self.mounts]
        return PlacingTarget(
            start=inside @ bare,
            per_kg=inside @ np.array(per_kg).reshape(-1, 4).T,
            goal=np.array([goal.value for goal in self.goals.values()]),
            tolerance=np.array([goal.tolerance for goal in self.goals.values()]),
        )

    def _home(self, kind: list[Piece]) -> tuple[int, ...]:
        """How many pieces of a kind are fitted at each mount."""
        return tuple(sum(piece.fitted == mount.name for piece in kind) for mount in self.mounts)

    def _destinations(self, kinds: list[list[Piece]], placed: Placed) -> dict[str, str | None]:
        """Which piece goes where: of equal ones those at home stay, then fitted ones move."""
        goes: dict[str, str | None] = {}
        for kind, counts in zip(kinds, placed.counts.tolist(), strict=True):
            unplaced = {mount.name: count for mount, count in zip(self.mounts, counts, strict=True)}
            away = []
            for piece in kind:
                if piece.fitted is not None and unplaced[piece.fitted]:
                    unplaced[piece.fitted] -= 1
                    goes[piece.name] = piece.fitted
                else:
                    away.append(piece)
            places = [name for name, count in unplaced.items() for _ in range(count)]
            away.sort(key=lambda piece: piece.fitted is None)
            for place, piece in enumerate(away):
                goes[piece.name] = places[place] if place < len(places) else None
        return goes

    def _predict(self, pieces: Sequence[Piece], goes: dict[str, str | None]) -> BallastPlan:
        """What the scales will read once every piece is where it goes."""
        placed = [(piece, goes.get(piece.name, piece.fitted)) for piece in pieces]
        moved = [(piece, after) for piece, after in placed if piece.fitted != after]
        changes = [
            weight_change(
                self.response,
                piece.mass,
                before=self._mount(piece.fitted),
                after=self._mount(after),
                u=piece.u,
            )
            for piece, after in moved
        ]
        loads, now = weigh_again(self.loads, changes, self.u)
        _, then = weigh_again(self.loads, [*changes, self.fuel], self.u)
        spread = math.hypot(then.u_total, self.u_scale)
        lift = np.sum([np.zeros(4), *(np.array(change.heights) for change in changes)], axis=0)
        return BallastPlan(
            placed=tuple((piece.name, after) for piece, after in placed if after is not None),
            handling=tuple(Handling(piece.name, piece.fitted, after) for piece, after in moved),
            loads=loads,
            now=now,
            at_weighing=then,
            weight=then.total,
            u_weight=spread,
            over=then.total - self.minimum,
            excess=then.total - self.minimum - self.margin,
            under=_below(self.minimum, then.total, spread),
            misses=tuple(
                Miss(name, goal.miss(getattr(now, name))) for name, goal in self.goals.items()
            ),
            height_change=Corners.of(lift.tolist()),
        )


def _kinds(pieces: Iterable[Piece]) -> list[list[Piece]]:
    """Pieces of equal mass and uncertainty together, wherever they are."""
    kinds: dict[tuple[float, float], list[Piece]] = {}
    for piece in pieces:
        kinds.setdefault((piece.mass, piece.u), []).append(piece)
    return list(kinds.values())


def _below(minimum: float, weight: float, u: float) -> float:
    """Phi((minimum - W)/u): the probability that the car is under the minimum."""
    if u <= 0.0:
        return 1.0 if weight < minimum else 0.0
    return float(scipy.special.ndtr((minimum - weight) / u))
