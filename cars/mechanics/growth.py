"""What a driver will weigh: a line through the weight log, and how sure it is. Masses kg, days."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import scipy

from cars.mechanics.errors import BadInput, TooThin, all_finite, finite, within

ENOUGH = 4  # weighings; with three a line leaves one degree of freedom and t of 12.7
COVERAGE = 0.95


@dataclass(frozen=True, slots=True)
class Forecast:
    """The next weighing on that day: expected, and the ends between which 95 of 100 would lie.

    `u`: the standard deviation of such a weighing about the line. `a_day`: kg a day.
    """

    expected: float
    low: float
    high: float
    u: float
    a_day: float
    weighings: int


def forecast_weight(
    days: Sequence[float], masses: Sequence[float], day: float, *, coverage: float = COVERAGE
) -> Forecast:
    """The line by least squares, and the interval of one more weighing on `day`.

    y = a + b x; s^2 = sum of squared residuals / (n - 2);
    u = s sqrt(1 + 1/n + (day - mean)^2 / Sxx); the interval is y +- t(n - 2) u.
    Source: NIST/SEMATECH e-Handbook of Statistical Methods, 4.5.1.2 (a single response; the
    section from memory), and held to statsmodels in the tests. Scatter about the line is taken
    to be the same at every weighing; that a child grows in a line holds over a season at most
    (our judgement, no source).
    Raises TooThin with fewer than four weighings or all of one day, BadInput for what is not
    finite and a coverage outside 0 to 1.
    """
    x, y = (np.asarray(all_finite(*each)) for each in (("days", days), ("masses", masses)))
    at = finite("day", day)
    within("coverage", coverage, 0.01, 0.9999)
    if len(x) != len(y):
        raise BadInput("masses", f"{len(y)} of them on {len(x)} days")
    if len(x) < ENOUGH:
        raise TooThin("weighings", f"too few: {len(x)} of {ENOUGH}")
    mean = float(x.mean())
    away = x - mean
    spread = float(away @ away)
    if spread <= 0.0:
        raise TooThin("weighings", "all are of one day")
    slope = float(away @ y) / spread
    middle = float(y.mean())
    residuals = y - middle - slope * away
    dof = len(x) - 2
    scatter = math.sqrt(float(residuals @ residuals) / dof)
    u = scatter * math.sqrt(1.0 + 1.0 / len(x) + (at - mean) ** 2 / spread)
    expected = middle + slope * (at - mean)
    half = float(scipy.special.stdtrit(dof, 0.5 + coverage / 2.0)) * u
    return Forecast(expected, expected - half, expected + half, u, slope, len(x))
