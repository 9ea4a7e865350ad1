"""Many small comparisons held against one driver's record: 'tried 3 times, faster once'.

`helped.did_it_help` weighs the record anew for each comparison. Here what each day and set-up of
the record says of the run scatter is computed once and left out of the comparisons that it is part
of. A trial is of one day, so days' levels are free. Times in s.
"""

from collections.abc import Hashable, Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from cars.mechanics.errors import positive
from cars.mechanics.helped import (
    ANY_TREND,
    EITHER_SIDE,
    USUAL,
    WORTH_HAVING,
    TimedRun,
    Verdict,
    levels_of,
)
from cars.mechanics.laps import lap_noise
from cars.mechanics.more_runs import separates
from cars.mechanics.run_levels import COARSE, DAY_SPREADS, FINE, GONE, Posterior, Prior, log_prior
from cars.mechanics.run_likelihood import Floats, Level, Trend, block_likelihoods, blocks_of
from cars.mechanics.run_likelihood import likelihood as likelihood_of

# Run scatters beyond these are no driver's: a thousandth of a second, and five.
SCATTERS = (0.001, 5.0)  # s
ONE_DAY = np.array([DAY_SPREADS[1]])


@dataclass(frozen=True, slots=True)
class Trial:
    """Runs of one day and driver, those before a change and those after it, by their places in
    the list of all runs."""

    before: tuple[int, ...]
    after: tuple[int, ...]


class Tried(NamedTuple):
    """The verdict of a trial, and the change as `run_levels` has it; None where the order alone
    says that nothing can be told."""

    verdict: Verdict
    change: Posterior | None = None


def judge_trials(
    trials: Sequence[Trial],
    runs: Sequence[TimedRun],
    *,
    prior: Prior = USUAL,
    trend: Trend = ANY_TREND,
    worth: float = WORTH_HAVING,
) -> list[Tried]:
    """The verdict of each trial, the run scatter learnt from all `runs` of this driver here.

    As `helped.did_it_help` with the other runs as the record, to 0.001 s, but for runs driven on
    the trial's day with its set-ups that are not in it: those say nothing here. One pair of runs,
    and runs whose order does not separate a change from a trend, are 'cannot tell' without being
    computed, where they might be 'no difference worth having' there.
    Raises BadInput for a `worth` not positive.
    """
    positive("worth", worth)
    asked = [separates(_groups(trial, runs)) for trial in trials]
    if not any(asked):
        return [Tried("cannot tell") for _ in trials]
    levels = levels_of(runs, lap_noise([run.laps for run in runs]))
    blocks = [(run.day, run.setup) for run in runs]
    scatters, each = _of_the_record(levels, blocks, prior, trend)
    known = _known(each, scatters, prior)
    names = {block: place for place, block in enumerate(dict.fromkeys(blocks))}
    judged = []
    for trial, is_asked in zip(trials, asked, strict=True):
        if not is_asked:
            judged.append(Tried("cannot tell"))
            continue
        own = {names[blocks[place]] for place in (*trial.before, *trial.after)}
        others = known - each[:, sorted(own)].sum(axis=1)
        judged.append(_judged(_in_order(trial, levels), scatters, others, trend, worth))
    return judged


def _groups(trial: Trial, runs: Sequence[TimedRun]) -> list[Level]:
    """The trial's runs in the order driven, without their times."""
    after = set(trial.after)
    places = sorted((*trial.before, *trial.after), key=lambda place: runs[place].order)
    return [Level(0, runs[place].order, float(place in after), 0.0, 0.0) for place in places]


def _in_order(trial: Trial, levels: Sequence[Level]) -> list[Level]:
    after = set(trial.after)
    places = sorted((*trial.before, *trial.after), key=lambda place: levels[place].order)
    return [levels[place]._replace(after=float(place in after)) for place in places]


def _of_the_record(
    levels: Sequence[Level], blocks: Sequence[Hashable], prior: Prior, trend: Trend
) -> tuple[Floats, Floats]:
    """Run scatters to sum over, and what each block says of them: S x B log likelihood.

    Laid twice: far apart first, then near to each other where the density is not nothing.
    """
    named = [
        level._replace(day=block, after=0.0) for level, block in zip(levels, blocks, strict=True)
    ]
    part = blocks_of(named, trend, change=False, laps_open=True)
    low, high = np.log(SCATTERS)
    scatters = np.exp(np.arange(low, high + COARSE, COARSE))
    density = _known(block_likelihoods(part, scatters), scatters, prior)
    near = np.flatnonzero(density > density.max() - GONE)
    low, high = np.log(scatters[near[0]]) - COARSE, np.log(scatters[near[-1]]) + COARSE
    step = min(COARSE, FINE / np.sqrt(len(levels) + prior.run_dof))
    scatters = np.exp(np.arange(low, high + step, step))
    return scatters, block_likelihoods(part, scatters)


def _known(each: Floats, scatters: Floats, prior: Prior) -> Floats:
    """Log density of the run scatters, from the record and before it."""
    known: Floats = each.sum(axis=1) + log_prior(scatters, prior.run_scatter, prior.run_dof)
    return known


def _judged(
    levels: Sequence[Level], scatters: Floats, others: Floats, trend: Trend, worth: float
) -> Tried:
    part = blocks_of(levels, trend, change=True, laps_open=True)
    fit = likelihood_of(part, scatters, ONE_DAY)
    density = fit.log_likelihood[:, 0] + others
    weights = np.exp(density - density.max())
    posterior = Posterior(
        weights / weights.sum(),
        fit.change[:, 0],
        fit.variance[:, 0],
        scatters,
        np.broadcast_to(ONE_DAY, scatters.shape),
    )
    return Tried(_verdict(posterior, worth), posterior)


def _verdict(change: Posterior, worth: float) -> Verdict:
    """As of the interval: an end lies above a change where the probability of less is small."""
    below = {at: change.below(at) for at in (-worth, 0.0, worth)}
    if below[0.0] > 1.0 - EITHER_SIDE:
        return "faster"
    if below[0.0] < EITHER_SIDE:
        return "slower"
    within = below[-worth] < EITHER_SIDE and below[worth] > 1.0 - EITHER_SIDE
    return "no difference worth having" if within else "cannot tell"
