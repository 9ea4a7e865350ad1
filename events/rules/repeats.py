"""What several weighings of one unchanged car say together, and how surely. Any one unit of mass.

How much a weighing scatters is learned from all repeats of the day on the same scales, with a
first guess (the prior) beside them, so that two weighings are never judged by the scatter of two.
"""

import math
from collections.abc import Hashable, Iterable, Sequence
from dataclasses import dataclass
from typing import NamedTuple

import scipy

from clubsetup.quantities.uncertainty import Contribution, Estimate, combine, type_a

# The prior: one weighing scatters as much as its divisions say, and that is known as well as from
# four repeats. Our judgement: a scale's step is chosen so that a sound one repeats to about it
# (OIML R 76-1:2006, 3.6.1, from memory, lets repeats of one load differ by the permissible error:
# for these cars half a step a pad when new and a whole one in service); four degrees of freedom
# are a figure known to a third (JCGM 100:2008, G.4.2: nu = 1/2 (1/3)^-2 = 4.5), little enough that
# a handful of real repeats outweighs it.
PRIOR_DOF = 4
# Weighings that so rarely differ so much, if they scatter as the day's others did, did not: our
# judgement.
ALIKE = 0.01
# Standard deviations that differ by rounding only.
_SAME = 1e-9
# Below any scale's: keeps a weight of its own to scales said to be exact.
_LEAST = 1e-9


class Scatter(NamedTuple):
    """Standard deviation of one weighing of an unchanged car, and its degrees of freedom."""

    s: float
    dof: float


class Read(NamedTuple):
    """One weighing: its total, what the divisions make uncertain, and what all on the same
    `scales` (with the same correction) have in common; `before`: the scatter known until then."""

    total: float
    u: float
    u_common: float
    scales: Hashable
    before: Scatter


@dataclass(frozen=True, slots=True)
class Mean:
    """The mean of weighings with its uncertainty, and the share each has in it."""

    estimate: Estimate
    weights: tuple[float, ...]


def prior(u: float) -> Scatter:
    """The scatter of one weighing before anything was weighed twice; `u` of its divisions."""
    return Scatter(u, PRIOR_DOF)


def pooled(known: Scatter, groups: Iterable[Sequence[float]]) -> Scatter:
    """What is known of the scatter, with some more groups of repeats.

    s_p^2 = (nu_0 s_0^2 + sum nu_i s_i^2) / (nu_0 + sum nu_i) (JCGM 100:2008, 4.2.4 and H.3.6;
    NIST/SEMATECH e-Handbook, 2.5.3.1.1, on pooling; both from memory); the prior counts as a
    group of nu_0 degrees of freedom. Groups of one say nothing.
    """
    weighted, dof = known.dof * known.s**2, known.dof
    for group in groups:
        middle = math.fsum(group) / max(1, len(group))
        weighted += math.fsum((one - middle) ** 2 for one in group)
        dof += max(0, len(group) - 1)
    return Scatter(math.sqrt(weighted / dof), dof)


def mean_of(reads: Sequence[Read]) -> Mean:
    """The mean of weighings of the unchanged car, oldest first.

    On one set of scales the plain mean of n: u = max(u_1, s_p) / sqrt(n), u_1 that of the
    divisions (JCGM 100:2008, 5.1.2; the car is rolled off and on between, so the roundings are
    independent) and s_p pooled from what the day had shown before the first of them and from
    these; with the degrees of freedom of s_p where it is the larger. The scatter holds the
    roundings too, so the two are not added. What a correction makes uncertain is common to all
    and is not divided by sqrt(n).

    Of several sets, their means by inverse variance, u^-2 = sum u_i^-2. So another weighing that
    reads the same never makes the mean less sure. Weighings that differ more than one time in a
    hundred if they scattered so (F test) stand on their own scatter alone, s / sqrt(n) with n - 1
    degrees of freedom (4.2.3), where that is the larger: pooling assumes that all scatter alike.
    """
    sets: dict[Hashable, list[Read]] = {}
    for read in reads:
        sets.setdefault(read.scales, []).append(read)
    means = {scales: _on_one_set(on) for scales, on in sets.items()}
    precision = {scales: max(one.u, _LEAST) ** -2 for scales, one in means.items()}
    whole = math.fsum(precision.values())
    weights = tuple(precision[r.scales] / whole / len(sets[r.scales]) for r in reads)
    value = math.fsum(w * r.total for w, r in zip(weights, reads, strict=True))
    parts = [Contribution(precision[k] / whole, one.u, one.dof) for k, one in means.items()]
    together = Mean(combine(value, parts), weights)
    if _alike(reads, value):
        return together
    own = type_a([read.total for read in reads])
    return together if own.u <= together.estimate.u else Mean(own, (1 / len(reads),) * len(reads))


def _on_one_set(reads: Sequence[Read]) -> Estimate:
    n = len(reads)
    divisions = math.sqrt(math.fsum(read.u**2 for read in reads) / n)
    scatter = pooled(reads[0].before, [[read.total for read in reads]])
    decides = scatter.s > divisions * (1.0 + _SAME)
    u, dof = (scatter.s, scatter.dof) if decides else (divisions, math.inf)
    common = max(read.u_common for read in reads)
    parts = [Contribution(1.0, u / math.sqrt(n), dof), Contribution(1.0, common)]
    return combine(math.fsum(read.total for read in reads) / n, parts)


def _alike(reads: Sequence[Read], value: float) -> bool:
    """Whether the weighings differ no more than what was known before them allows."""
    nu = len(reads) - 1
    if not nu:
        return True
    one = [max(r.u, r.before.s, _LEAST) ** 2 + r.u_common**2 for r in reads]
    squares = math.fsum((r.total - value) ** 2 / of for r, of in zip(reads, one, strict=True))
    least = min(read.before.dof for read in reads)
    return bool(scipy.special.fdtrc(nu, least, squares / nu) >= ALIKE)
