"""Whole-number choices under linear rules, solved to the proven optimum by HiGHS."""

from dataclasses import dataclass

import numpy as np
import scipy
from numpy.typing import NDArray

from cars.mechanics.errors import BadInput

Floats = NDArray[np.float64]
Rules = tuple[Floats, Floats, Floats]  # rows, low and high: low <= rows @ v <= high

GAP = 1e-6  # relative to the least cost: the solver stops when nothing better than this can be left


@dataclass(frozen=True, slots=True)
class Choice:
    """The choice that costs least; ``proven`` is False where the time ran out first."""

    values: Floats
    cost: float
    proven: bool


def least_cost(
    cost: Floats,
    rules: Rules,
    *,
    bounds: tuple[Floats, Floats],
    whole: int,
    seconds: float,
) -> Choice | None:
    """Minimise cost @ v with v inside the ``rules`` and within ``bounds``.

    The first ``whole`` values are whole numbers and come back rounded to them, with
    the cost counted again from the rounded values; the others are real. None where
    no choice keeps the rules. HiGHS (branch and cut) through scipy.optimize.milp; rules
    hold to about 1e-6 of a unit, the cost to ``GAP``. Raises BadInput where the
    solver finds no choice within ``seconds`` although there may be one.
    """
    integrality = np.zeros(len(cost), dtype=np.int64)
    integrality[:whole] = 1
    solution = scipy.optimize.milp(
        cost,
        constraints=scipy.optimize.LinearConstraint(*rules),
        integrality=integrality,
        bounds=scipy.optimize.Bounds(*bounds),
        # With presolve HiGHS 1.x now and then prints past us, and these tasks gain nothing by it.
        options={"mip_rel_gap": GAP, "time_limit": seconds, "presolve": False},
    )
    if solution.x is None:
        if solution.status == 2:
            return None
        raise BadInput("choice", f"no answer within {seconds:g} s: offer fewer pieces or mounts")
    values = np.array(solution.x, dtype=np.float64)
    values[:whole] = np.rint(values[:whole])
    return Choice(values, float(cost @ values), solution.status == 0)
