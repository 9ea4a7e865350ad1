"""The likelihood of run middles under a change, a trend and days, on a grid of the two spreads.

`run_levels` has the model. Levels, slopes and bends are integrated out one after the other, a
block of a day's runs at a time, as a Cholesky factor is swept.
"""

import math
from collections.abc import Hashable, Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from cars.mechanics.errors import positive

Floats = NDArray[np.float64]

RUNS_A_BEND = 3.0
MOST_BENDS = 8.0
UNTOLD = 1e-13  # of what runs would say of the change, so little is rounding


@dataclass(frozen=True, slots=True)
class Trend:
    """What a day does by itself from run to run, normal about none, in s a run.

    `slope` is the standard deviation of a day's slope, infinite where nothing is held of it;
    `bend` that of a change of slope, of which there is one for three runs, eight at
    most. Our judgement, no source. Raises BadInput for one not positive.
    """

    slope: float = 0.08
    bend: float = 0.03

    def __post_init__(self) -> None:
        """Refuse a deviation of nothing."""
        if not math.isinf(self.slope):
            positive("trend slope", self.slope)
        if self.bend:
            positive("trend bend", self.bend)


class Level(NamedTuple):
    """One run: its day, its place in the day, 1 after the change, its middle and variance."""

    day: Hashable
    order: float
    after: float
    middle: float
    variance: float


@dataclass(frozen=True, slots=True)
class Blocks:
    """Runs sorted by day: columns R x K (bends, slope, one, after, middle), where days begin."""

    columns: Floats
    variances: Floats
    starts: NDArray[np.intp]
    trend: tuple[float, ...]  # standard deviation of each trend column
    change: bool  # whether the change is to be estimated


def blocks_of(
    runs: Sequence[Level], trend: Trend | None, *, change: bool, laps_open: bool
) -> Blocks:
    days = {day: place for place, day in enumerate(dict.fromkeys(run.day for run in runs))}
    placed = sorted(runs, key=lambda run: (days[run.day], run.order))
    starts = np.searchsorted([days[run.day] for run in placed], np.arange(len(days)))
    order, after, middle, variance = np.array([run[1:] for run in placed], dtype=float).T
    shapes, deviations = _trend_columns(order, starts, trend)
    columns = np.column_stack([*shapes, np.ones(len(placed)), after, middle - middle.mean()])
    return Blocks(columns, variance * laps_open, starts, deviations, change)


def _trend_columns(
    order: Floats, starts: NDArray[np.intp], trend: Trend | None
) -> tuple[list[Floats], tuple[float, ...]]:
    """Bends and slope by order, each about its day's middle, and their deviations."""
    if trend is None:
        return [], ()
    sizes = np.diff(starts, append=len(order))
    first = np.repeat(np.minimum.reduceat(order, starts), sizes)
    last = np.repeat(np.maximum.reduceat(order, starts), sizes)
    middle = np.repeat(np.add.reduceat(order, starts) / sizes, sizes)
    columns = []
    bends = np.maximum(np.round((last - first) / RUNS_A_BEND), (last - first > 1.0).astype(float))
    bends = np.minimum(bends, MOST_BENDS)
    for bend in range(int(bends.max()) if trend.bend else 0):
        at = first + (last - first) * (bend + 0.5) / np.maximum(bends, 1.0)
        columns.append(np.where(bend < bends, np.maximum(order - at, 0.0), 0.0))
    return [*columns, order - middle], (*(trend.bend for _ in columns), trend.slope)


class Fit(NamedTuple):
    """On the grid: restricted log likelihood, the change, its variance, and the squares left."""

    log_likelihood: Floats
    change: Floats
    variance: Floats
    rest: Floats


def likelihood(part: Blocks, scatters: Floats, days: Floats) -> Fit:
    """Restricted log likelihood on the grid, with the change and its variance there."""
    precision, inner, pivots = _swept(part, scatters)
    log_likelihood = 0.5 * np.log(precision).sum(axis=1) - pivots.sum(axis=1)
    raw = (precision * part.columns[:, -2] ** 2).sum(axis=1)[:, None]
    return _over_days(log_likelihood, inner, days, raw if part.change else None)


def block_likelihoods(part: Blocks, scatters: Floats) -> Floats:
    """Restricted log likelihood S x B of each block by itself, its level free and no change in it.

    0.5 sum log w - 0.5 log sum w - 0.5 (sum w y^2 - (sum w y)^2 / sum w), the w being what the
    trend leaves. The limit of `likelihood` for days that may lie anywhere, less what does not hang
    on the scatter.
    """
    precision, inner, pivots = _swept(part, scatters)
    logs = np.add.reduceat(np.log(precision), part.starts, axis=1)
    ones, along, squares = inner[:, :, 0, 0], inner[:, :, 0, 2], inner[:, :, 2, 2]
    rest = squares - along**2 / ones
    found: Floats = 0.5 * logs - pivots - 0.5 * np.log(ones) - 0.5 * rest
    return found


def _swept(part: Blocks, scatters: Floats) -> tuple[Floats, Floats, Floats]:
    """Precisions S x R; S x B x 3 x 3 sums in (one, after, middle) with the trend integrated out;
    and half the logarithms of its pivots, S x B."""
    precision = 1.0 / (scatters[:, None] ** 2 + part.variances)  # S x R
    ends = np.append(part.starts[1:], len(part.columns))
    inner = np.stack(
        [
            (part.columns[first:end].T * precision[:, None, first:end]) @ part.columns[first:end]
            for first, end in zip(part.starts, ends, strict=True)
        ],
        axis=1,
    )  # S x B x K x K
    pivots = np.zeros(inner.shape[:2])
    for deviation in part.trend:
        pivot = inner[:, :, 0, 0] + (0.0 if math.isinf(deviation) else deviation**-2)
        moving = pivot > 0.0  # a single run has no slope
        pivot = np.where(moving, pivot, 1.0)
        row = inner[:, :, 0, 1:]
        inner = (
            inner[:, :, 1:, 1:] - (row[..., :, None] * row[..., None, :]) / pivot[:, :, None, None]
        )
        pivots = pivots + 0.5 * np.log(pivot)
    return precision, inner, pivots


def _over_days(log_likelihood: Floats, inner: Floats, days: Floats, raw: Floats | None) -> Fit:
    """The days' levels integrated out of S x B x 3 x 3 sums in (one, after, middle)."""
    ones = inner[:, :, 0, 0]
    apart = 1.0 + days[:, None] ** 2 * ones[:, None, :]  # S x D x B
    log_likelihood = log_likelihood[:, None] - 0.5 * np.log(apart).sum(axis=2)
    first, rest = inner[:, :, 0, :], inner[:, :, 1:, 1:]
    mean = (1.0 / apart) @ first  # S x D x 3
    outer = (first[..., 1:, None] * first[..., None, 1:]).reshape(*ones.shape, 4)
    sums = rest.sum(axis=1).reshape(-1, 1, 4) - (days[:, None] ** 2 / apart) @ outer
    return _solve(log_likelihood, mean, sums, raw)


def _solve(log_likelihood: Floats, mean: Floats, sums: Floats, raw: Floats | None) -> Fit:
    """Mean and change integrated out: S x D, from the mean's row and the 2 x 2 of the others.

    `raw` is what the runs would say of the change if nothing else were to be found, S x 1, None
    where there is none; where trend and days leave only rounding of it, it is not told.
    """
    ones, after, middle = mean[..., 0], mean[..., 1], mean[..., 2]
    log_likelihood = log_likelihood - 0.5 * np.log(ones)
    rest = sums[..., 3] - middle**2 / ones
    if raw is None:
        return Fit(log_likelihood - 0.5 * rest, 0.0 * rest, 0.0 * rest, rest)
    information = sums[..., 0] - after**2 / ones
    told = information > UNTOLD * raw
    information = np.where(told, information, 1.0)
    found = np.where(told, (sums[..., 1] - after * middle / ones) / information, 0.0)
    rest = rest - found**2 * information
    log_likelihood = log_likelihood - 0.5 * np.log(information) - 0.5 * rest
    return Fit(log_likelihood, found, np.where(told, 1.0 / information, np.inf), rest)
