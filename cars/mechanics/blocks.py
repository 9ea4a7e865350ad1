"""What this car's marked eccentric blocks really give, learnt from its own gauge readings.

The same marks give different angles on different cars, so a chart belongs to one car and one
side, and is made of pairs (marks set, angle the gauge then showed). Angles in degrees.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import product
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from cars.mechanics.errors import BadInput, TooThin, finite, positive, within

Marks = tuple[str, ...]
Matrix = NDArray[np.float64]

# A digital angle gauge repeats within about +-0.1 degree (common practice, no source), taken as
# rectangular. A few readings that happen to agree do not make the gauge better than this.
GAUGE_U = 0.1 / math.sqrt(3.0)

# Readings beyond those that fix the marks' effects before the scatter can be believed.
ENOUGH_DOF = 3
MOST_CHOICES = 1024
MOST_ANGLE = 45.0
_NEAREST_FEW = 3
_NOTHING = 1e-8


class BlockReading(NamedTuple):
    """The marks set, one for each block in a fixed order (top, bottom), and the gauge's angle."""

    marks: Marks
    angle: float


class BlockChoice(NamedTuple):
    """What to expect of one setting: angle, the uncertainty of the next reading, the miss."""

    marks: Marks
    angle: float
    u: float
    miss: float
    times_read: int


@dataclass(frozen=True, slots=True)
class Suggestion:
    """Settings in order of nearness, and whether the chart carries them.

    `thin` when the scatter is not yet seen, or when some settings are unknown and none that is
    known comes to the target within its uncertainty; then `measure_next` names the setting that
    teaches most and `why` says so in a sentence. `within_reach` is false
    when the target lies outside all that the known settings give by more than their uncertainty.
    """

    choices: tuple[BlockChoice, ...]
    thin: bool
    within_reach: bool
    measure_next: Marks | None
    why: str


class BlockChart:
    """The effect of each mark on this car, with the scatter left over.

    Least squares of angle = mean + sum of one effect per block and mark + residual; a single
    block is then the mean at each mark. The residual variance RSS / (n - rank) covers the gauge,
    the seating of the blocks and whatever the blocks do to each other, and is never taken to be
    less than the gauge's own. Assumes readings independent and of one side of one car, nothing
    else changed in between. Source: linear models with one-way or additive classification.

    `marks` lists what each block offers, when that is more than has been read. Raises BadInput
    for marks or angles that make no sense, TooThin without a reading.
    """

    def __init__(
        self,
        readings: Sequence[tuple[Marks, float]],
        *,
        marks: Sequence[Sequence[str]] | None = None,
        gauge_u: float = GAUGE_U,
    ) -> None:
        self._readings = tuple(_checked(BlockReading(*reading)) for reading in readings)
        if not self._readings:
            raise TooThin("block readings", "no setting of the blocks has been read yet")
        self._offered = _offered(self._readings, marks)
        self.settings: tuple[Marks, ...] = _settings(self._offered)
        self._place = {marks: place for place, marks in enumerate(self.settings)}
        self._rows: Matrix = np.array([self._row(marks) for marks in self.settings])
        self._fit(positive("gauge_u", gauge_u))

    def _fit(self, gauge_u: float) -> None:
        """Fits each setting's mean angle, weighted by how often it was read: W X b = W y.

        Repeats say nothing new of which settings are determined, so that X has one row a setting
        and W the roots of the counts; W X = U S V'. A singular value up to
        max(rows, columns) eps s_max is rounding and no information (the rule of
        `numpy.linalg.matrix_rank`; Golub and Van Loan, Matrix Computations, 5.4.1, from memory):
        the cut-off of `pinv` alone, 1e-15 s_max, is below the rounding of a few hundred rows.
        """
        places = np.array([self._place[reading.marks] for reading in self._readings])
        angles = np.array([reading.angle for reading in self._readings])
        read, which, counts = np.unique(places, return_inverse=True, return_counts=True)
        root = np.sqrt(counts)
        design = root[:, None] * self._rows[read]
        left, size, right = np.linalg.svd(design)
        rank = int(np.sum(size > max(design.shape) * np.finfo(float).eps * size[0]))
        # What the readings leave open of each setting: its part along the directions never read.
        self._open: Matrix = self._rows @ right[rank:].T @ right[rank:]
        self._is_known: NDArray[np.bool_] = np.linalg.norm(self._open, axis=1) < _NOTHING
        inverse: Matrix = right[:rank].T / size[:rank] @ left[:, :rank].T
        self._effects: Matrix = inverse @ (root * np.bincount(which, angles) / counts)
        self._spread: Matrix = inverse @ inverse.T
        self.dof = len(angles) - rank
        left_over = float(np.sum((angles - self._rows[places] @ self._effects) ** 2))
        seen = math.sqrt(left_over / self.dof) if self.dof else 0.0
        self.residual = max(seen, gauge_u)

    @property
    def unknown(self) -> tuple[Marks, ...]:
        """Settings that the readings so far cannot tell: a mark, or a link, is missing."""
        return tuple(m for m, known in zip(self.settings, self._is_known, strict=True) if not known)

    def expected(self, marks: Marks, target: float | None = None) -> BlockChoice:
        """Expected angle x'b of a setting; u = residual sqrt(1 + x'(X'X)^- x).

        The uncertainty is that of one more gauge reading. Raises BadInput for marks the blocks
        do not have, TooThin when the readings so far do not determine this setting.
        """
        marks = tuple(marks)
        if marks not in self._place:
            raise BadInput("marks", f"{' / '.join(marks)} is not on these blocks")
        if not self._is_known[self._place[marks]]:
            raise TooThin("marks", f"nothing read so far tells what {' / '.join(marks)} gives")
        row = self._rows[self._place[marks]]
        angle = float(row @ self._effects)
        u = self.residual * math.sqrt(1.0 + float(row @ self._spread @ row))
        miss = 0.0 if target is None else angle - target
        times = sum(reading.marks == marks for reading in self._readings)
        return BlockChoice(marks, angle, u, miss, times)

    def suggest(self, target: float, *, most: int = 5) -> Suggestion:
        """The `most` known settings nearest to `target` degrees, and what to measure next.

        Nearest by |expected - target|, then the surer. Unknown settings are never guessed at.
        What to measure next is the unknown setting that makes most others known; where none is
        unknown, or the nearest known one comes to the target within two of its uncertainties, the
        one that most lowers the variance of the nearest three. Raises BadInput for
        a target over 45 degrees or `most` under one, TooThin where no setting is known.
        """
        within("target", target, -MOST_ANGLE, MOST_ANGLE)
        if most < 1:
            raise BadInput("most", "at least one setting must be asked for")
        known = [self.expected(self.settings[i], target) for i in np.flatnonzero(self._is_known)]
        if not known:
            raise TooThin("block readings", "what was read so far tells of no setting; read one")
        known.sort(key=lambda choice: (round(abs(choice.miss), 9), choice.u, choice.marks))
        lowest, highest = min(known, key=_angle), max(known, key=_angle)
        reached = lowest.angle - 2 * lowest.u <= target <= highest.angle + 2 * highest.u
        next_one, why = self._next(known)
        return Suggestion(tuple(known[:most]), next_one is not None, reached, next_one, why)

    def _next(self, known: Sequence[BlockChoice]) -> tuple[Marks | None, str]:
        if not self._is_known.all() and abs(known[0].miss) > 2 * known[0].u:
            count = int(np.sum(~self._is_known))
            return self._best_link(), f"{count} of {len(self.settings)} settings are not known yet"
        if self.dof < ENOUGH_DOF:
            return self._best_repeat(known), "too few repeats to see how much the readings scatter"
        return None, ""

    def _best_link(self) -> Marks:
        """The unknown setting that makes most others known.

        Reading setting j takes its direction out of what is open of every other: what stays open
        of i is |o_i|^2 - (o_i . o_j)^2 / |o_j|^2.
        """
        places = np.flatnonzero(~self._is_known)
        gram = self._open[places] @ self._open[places].T
        size = np.diag(gram)
        stays = size[:, None] - gram**2 / size[None, :]
        made_known = np.sum(stays < _NOTHING, axis=0)
        return self.settings[places[int(np.argmax(made_known))]]

    def _best_repeat(self, known: Sequence[BlockChoice]) -> Marks:
        """The setting whose next reading most lowers the variance of the nearest few.

        One more reading x takes (y'Cx)^2 / (1 + x'Cx) off y'Cy (Sherman and Morrison). Rounded, so
        that settings that teach as much are taken in order of nearness.
        """
        rows = self._rows[[self._place[choice.marks] for choice in known]]
        between = rows @ self._spread @ rows.T
        gains = np.sum(between[:_NEAREST_FEW] ** 2, axis=0) / (1.0 + np.diag(between))
        return known[int(np.argmax(np.round(gains, 9)))].marks

    def _row(self, marks: Marks) -> Matrix:
        chosen = (
            1.0 if mark == own else 0.0
            for offered, own in zip(self._offered, marks, strict=True)
            for mark in offered
        )
        return np.array([1.0, *chosen])


def _angle(choice: BlockChoice) -> float:
    return choice.angle


def _checked(reading: BlockReading) -> BlockReading:
    marks = tuple(reading.marks)
    if isinstance(reading.marks, str) or not marks or not all(mark.strip() for mark in marks):
        raise BadInput("marks", "one mark for each block is needed")
    angle = finite("angle", reading.angle)
    return BlockReading(marks, within("angle", angle, -MOST_ANGLE, MOST_ANGLE))


def _offered(
    readings: Sequence[BlockReading], marks: Sequence[Sequence[str]] | None
) -> tuple[Marks, ...]:
    """The marks of each block: those listed, or else those read, in the order first met."""
    blocks = len(readings[0].marks)
    if any(len(reading.marks) != blocks for reading in readings):
        raise BadInput("marks", "every reading must give a mark for the same blocks")
    read = [tuple(dict.fromkeys(r.marks[place] for r in readings)) for place in range(blocks)]
    if marks is None:
        return tuple(read)
    if len(marks) != blocks:
        raise BadInput("marks", f"{len(marks)} blocks are listed but {blocks} were read")
    for listed, used in zip(marks, read, strict=True):
        strange = set(used) - set(listed)
        if strange:
            raise BadInput("marks", f"{', '.join(sorted(strange))} is not on these blocks")
    return tuple(tuple(dict.fromkeys(listed)) for listed in marks)


def _settings(offered: Sequence[Marks]) -> tuple[Marks, ...]:
    count = math.prod(len(marks) for marks in offered)
    if count > MOST_CHOICES:
        raise BadInput("marks", f"{count} settings are more than a chart can hold")
    return tuple(product(*offered))
