"""What the middles of runs say of a change: the model behind 'did it help'.

    y_i = day + trend(order) + change b_i + r_i + e_i

y_i the middle of run i in s; b_i 1 after the change and 0 before. The day's level is normal
about one mean with the spread of this driver's days; the trend is a line with a slope of its own
each day, and may bend; r_i is the run's own scatter, one variance for all runs of a driver here;
e_i is what the run's laps leave open, its variance known. Levels, slopes and bends are
integrated out exactly (`run_likelihood`); mean and change have flat priors; the two spreads are
summed over a grid of their logarithms, so that where one is all that is unknown, the result is
Student's t itself.

Sources, from memory: restricted likelihood, Patterson and Thompson, Biometrika 58 (1971) 545;
scaled inverse chi-squared priors and this integration, Gelman et al., Bayesian Data Analysis,
3rd ed., 2.6, 3.2 and 5.4.
"""

import math
from collections.abc import Hashable, Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np
import scipy

from cars.mechanics.errors import TooThin, positive
from cars.mechanics.run_likelihood import Blocks, Floats, Level, Trend, blocks_of, likelihood

COARSE = 0.15  # the grid's step in the logarithm of a spread
FINE = 0.42  # the same, over the square root of the degrees of freedom
GONE = 45.0  # log of how much less likely than the likeliest is left out
DAY_SPREADS = (0.002, 20.0)  # s
DAY_STEP = 0.25
LEAST_SCATTER = 1e-9  # s; what is left then is rounding


@dataclass(frozen=True, slots=True)
class Prior:
    """What is held of a driver's scatter before his own record is seen.

    Scaled inverse chi-squared: each spread in s with the degrees of freedom it counts for. Our
    judgement, no source. Raises BadInput for one not positive.
    """

    run_scatter: float = 0.08
    run_dof: float = 4.0
    day_spread: float = 0.2
    day_dof: float = 4.0

    def __post_init__(self) -> None:
        """Refuse a spread or degrees of freedom of nothing."""
        for name in ("run_scatter", "run_dof", "day_spread", "day_dof"):
            positive(f"prior {name}", getattr(self, name))


class Posterior(NamedTuple):
    """The change as a mixture of normals over the spreads, s."""

    weights: Floats
    changes: Floats
    variances: Floats
    run_scatter: Floats
    day_spread: Floats

    @property
    def mean(self) -> float:
        """The change to be expected, s."""
        return float(self.weights @ self.changes)

    @property
    def u(self) -> float:
        """Its standard deviation, s; that of Student's t holds only above two degrees."""
        away = self.changes - self.mean
        return math.sqrt(float(self.weights @ (self.variances + away**2)))

    @property
    def day_spread_mean(self) -> float:
        """The spread of days to be expected, s."""
        return float(self.weights @ self.day_spread)

    def run_scatter_quantiles(self, p: Floats) -> Floats:
        """The run scatters that are greater than the true one with probabilities p, s."""
        sizes, rows = np.unique(self.run_scatter, return_inverse=True)
        each = np.bincount(rows, self.weights)
        return np.exp(np.interp(p, np.cumsum(each) - 0.5 * each, np.log(sizes)))

    def below(self, change: float) -> float:
        """The probability that the true change is less."""
        return float(
            self.weights @ scipy.special.ndtr((change - self.changes) / np.sqrt(self.variances))
        )

    def quantile(self, p: float) -> float:
        """The change that is greater than the true one with probability p, s.

        Halving, then Newton's steps on the mixture's distribution, to 1e-12 of its width.
        """
        deviations = np.sqrt(self.variances)
        width = 1.0 + float(deviations.max()) * 40.0
        low, high = self.mean - width, self.mean + width
        place = self.mean
        for _ in range(200):
            t = (place - self.changes) / deviations
            over = float(self.weights @ scipy.special.ndtr(t)) - p
            low, high = (low, place) if over > 0.0 else (place, high)
            slope = float(self.weights @ (np.exp(-0.5 * t * t) / deviations)) / math.sqrt(math.tau)
            step = place - over / slope if slope > 0.0 else math.inf
            following = step if low < step < high else 0.5 * (low + high)
            if abs(following - place) <= 1e-13 * (1.0 + abs(place)):
                break
            place = following
        return place


def change_of(
    runs: Sequence[Level],
    record: Sequence[Level] = (),
    *,
    prior: Prior | None,
    trend: Trend | None,
) -> Posterior:
    """The change between the runs with `after` 0 and 1, the spreads learnt from `record` too.

    Without a prior both spreads are flat (the run scatter in its logarithm, the days' spread in
    itself) and what laps leave open is part of the run scatter, so that variances play no part.
    Without a trend a day stands still. Raises TooThin where a group has no run, where nothing is
    left to tell scatter from without a prior, and where a free trend is all there may be.
    """
    if len({run.after for run in runs}) < 2:
        raise TooThin("runs", "one of the two groups has none")
    laps_open = prior is not None
    parts = [blocks_of(runs, trend, change=True, laps_open=laps_open)]
    if record:
        parts.append(blocks_of(record, trend, change=False, laps_open=laps_open))
    dof = sum(len(part.columns) for part in parts) - sum(_taken(part) for part in parts)
    if prior is None and dof < 1:
        raise TooThin("runs", "too few to tell their scatter")
    centre = _centre(parts, prior, max(dof, 0))
    scatters = centre * np.exp(_range(prior.run_dof if prior else float(dof)))
    days = _day_grid(parts)
    coarse = _weigh(parts, scatters, days, prior)
    if not np.isfinite(coarse[2]).all():
        raise TooThin("runs", "their order does not tell the change from the trend")
    scatters = _finer(coarse[0], scatters, dof + (prior.run_dof if prior else 0.0))
    weights, changes, variances = _weigh(parts, scatters, days, prior)
    kept = np.exp(weights - weights.max())
    total = float(kept.sum())
    sizes = np.broadcast_arrays(scatters[:, None], days[None, :])
    return Posterior(
        (kept / total).ravel(),
        changes.ravel(),
        variances.ravel(),
        sizes[0].ravel(),
        sizes[1].ravel(),
    )


def change_variances(
    runs: Sequence[Level],
    scatters: Floats,
    day_spread: float,
    *,
    trend: Trend | None,
    laps_open: bool,
) -> Floats:
    """The variance of the change that these runs would leave, for each run scatter, s^2."""
    part = blocks_of(runs, trend, change=True, laps_open=laps_open)
    return likelihood(part, scatters, np.array([day_spread])).variance[:, 0]


def degrees_left(
    runs: Sequence[Level], record: Sequence[Level], *, prior: Prior | None, trend: Trend | None
) -> float:
    """Degrees of freedom that tell the run scatter: the prior's and those runs leave over."""
    left = 0.0 if prior is None else prior.run_dof
    for levels, change in ((runs, 1), (record, 0)):
        days: dict[Hashable, int] = {}
        for level in levels:
            days[level.day] = days.get(level.day, 0) + 1
        slopes = 0 if trend is None else 1
        spare = sum(max(count - 1 - slopes, 0) for count in days.values()) - change
        left += max(spare, 0)
    return left


def _range(dof: float) -> Floats:
    """Logarithms of spreads over their centre, beyond which a density of `dof` is nothing."""
    width = 9.0 / math.sqrt(2.0 * dof)
    low, high = -width - 0.5 * math.log1p(80.0 / dof), width + 40.0 / dof
    return np.arange(low, high + COARSE, COARSE)


def _taken(part: Blocks) -> int:
    """Parameters without a prior of their own: mean, change, and slopes where those are free."""
    free = len(part.starts) if part.trend and math.isinf(part.trend[-1]) else 0
    days = len(part.starts) - 1
    return 1 + part.change + free + days


def _centre(parts: Sequence[Blocks], prior: Prior | None, dof: int) -> float:
    """About how large the run scatter is: what least squares leave, drawn to the prior.

    Only where the grid is laid; it does not enter the result. Days and their slopes are free,
    since spreads of 20 and more are beside a scatter of 1.
    """
    squares = 0.0 if prior is None else prior.run_dof * prior.run_scatter**2
    for part in parts:
        free = replace(part, variances=0.0 * part.variances, trend=(math.inf,) * bool(part.trend))
        free = replace(free, columns=part.columns[:, max(len(part.trend) - 1, 0) :])
        squares += float(likelihood(free, np.ones(1), np.array(DAY_SPREADS[1:])).rest[0, 0])
    centre = math.sqrt(max(squares, 0.0) / (dof + (prior.run_dof if prior else 0.0)))
    if prior is None and centre < LEAST_SCATTER:
        raise TooThin("runs", "they do not scatter at all")
    return centre


def _day_grid(parts: Sequence[Blocks]) -> Floats:
    """Spreads of days that are tried; where one day holds all that is compared, anywhere is."""
    low, high = DAY_SPREADS
    if len(parts[0].starts) == 1:
        return np.array([high])
    return _logarithmic(math.log(low), math.log(high), DAY_STEP)


def _finer(weights: Floats, scatters: Floats, dof: float) -> Floats:
    """The grid again where it matters, with a step that fits how sharp the density is."""
    rows = np.flatnonzero((weights > weights.max() - GONE).any(axis=1))
    low, high = math.log(scatters[rows[0]]) - COARSE, math.log(scatters[rows[-1]]) + COARSE
    return _logarithmic(low, high, min(COARSE, FINE / math.sqrt(dof)))


def _logarithmic(low: float, high: float, step: float) -> Floats:
    """Spreads whose logarithms are as far apart as `step`, both ends among them."""
    spreads: Floats = np.exp(np.arange(low, high + step, step))
    return spreads


def _weigh(
    parts: Sequence[Blocks], scatters: Floats, days: Floats, prior: Prior | None
) -> tuple[Floats, Floats, Floats]:
    """Log density on the grid S x D, and the change and its variance at each point."""
    log_density = np.zeros((len(scatters), len(days)))
    if prior is not None:
        log_density += log_prior(scatters, prior.run_scatter, prior.run_dof)[:, None]
        if len(days) > 1:
            log_density += log_prior(days, prior.day_spread, prior.day_dof)
    elif len(days) > 1:
        log_density += np.log(days)  # flat in the spread itself
    changes = variances = log_density
    for part in parts:
        fit = likelihood(part, scatters, days)
        log_density = log_density + fit.log_likelihood
        if part.change:
            changes, variances = fit.change, fit.variance
    return log_density, changes, variances


def log_prior(spread: Floats, scale: float, dof: float) -> Floats:
    """Scaled inverse chi-squared of spread^2, as a density of log spread, less a constant."""
    ratio = scale / spread
    return dof * np.log(ratio) - 0.5 * dof * ratio**2
