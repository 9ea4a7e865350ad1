"""How much ballast, which pieces and where, to be legal at the scales after the race."""

from collections.abc import Sequence
from dataclasses import replace

from cars.mechanics.ballastplan import (
    BallastOutOfReach,
    BallastPlan,
    Mount,
    Piece,
    Place,
    ShareTargets,
    check_fit,
)
from cars.mechanics.chassis import Chassis
from cars.mechanics.corners import Corners
from cars.mechanics.errors import BadInput, not_negative, positive
from cars.mechanics.goals import Goal
from cars.mechanics.loads import HEAVIEST, checked_loads, shares
from cars.mechanics.placing import Aim, Kind, Placed, Placing

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
    tank: Place | None = None,
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
        3. minimise  sum over left, rear, cross of max(|share - goal|/tolerance, 0.1)
                     + 0.01 for each piece handled

    Shares are those the scales will read next, with ``fuel_now``. Step 2 settles the
    total, so a share is linear in x and step 3 is a linear whole-number program (HiGHS,
    branch and cut); a set's total varies by at most 0.1 g, a share by under 1e-6.
    A share within a tenth of its tolerance counts as hit, and moving a piece has to
    earn a hundredth of a tolerance. Without ``targets`` the shares are kept as they are.
    If the best plan moves or takes off a fitted piece, the best that leaves
    all of them alone follows, where there is one.

    Exactness: step 2 looks at every set of pieces, equal ones as one kind; step 3 is
    proven by the solver to 1e-6, or the plan says that it is not ``proven``.

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
    car = _Car.of(loads, chassis, mounts, u=u, tank=tank, u_fuel=u_fuel, u_scale=u_scale)
    car.fuel(fuel_now, fuel_at_weighing)
    car.need(positive("minimum", minimum, HEAVIEST), not_negative("margin", margin, HEAVIEST))
    goals = _goals(targets, car.loads)
    best = _Task(car, pieces, goals, positive("seconds", seconds)).plan()
    if all(handling.before is None for handling in best.handling):
        return [best]
    left_alone = [replace(piece, stays=piece.fitted is not None) for piece in pieces]
    try:
        return [best, _Task(car, left_alone, goals, seconds).plan()]
    except BallastOutOfReach:
        return [best]
