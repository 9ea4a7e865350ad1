"""Lap times of a run: which are racing laps, the run's middle, and what its laps leave open.

Times in s. A lap that is no racing lap is marked and stays in the list, so that a page can say
'12 laps, 10 counted'.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import median
from typing import Literal, NamedTuple

import numpy as np
from numpy.typing import NDArray

from cars.mechanics.drift import MAD_FACTOR
from cars.mechanics.errors import BadInput, TooThin, positive

Floats = NDArray[np.float64]

LONGEST_LAP = 600.0  # s
MOST_LAPS = 500

# No racing lap is slower than the run's median by more than this many spreads and this long;
# none can be driven in less than this share of the median. Common practice, no source.
SLOW_SPREADS = 2.5
SLOW_BY = 0.3  # s
LOWER_THIRD = 0.4307272992954576  # Phi^-1(2/3)
TOO_FAST = 0.8
# One slow lap this much slower than the median is a spin, a shorter one traffic.
SPIN = 1.2
FEWEST_TO_MARK = 3

# A stopwatch pressed by hand: each press within this of the line, anywhere there as likely.
# Common practice, no source. u = a / sqrt 3 (JCGM 100:2008, 4.3.7).
PRESS_HALF_WIDTH = 0.15  # s
PRESS_VARIANCE = PRESS_HALF_WIDTH**2 / 3.0  # s^2

# What a driver's laps scatter by, before his own are seen. Our judgement, no source.
LAP_SCATTER = 0.15  # s
LAP_DOF = 4.0
# Lag-1 correlations that are tried; a run has too few laps to tell more than the last.
LAG_1 = np.linspace(0.0, 0.8, 17)

LapMark = Literal["first", "caution", "spin", "traffic", "too fast"]


class LapNoise(NamedTuple):
    """How a driver's racing laps scatter about their run: variance in s^2, lag-1 correlation."""

    variance: float
    lag_1: float


@dataclass(frozen=True, slots=True)
class RunLaps:
    """The laps of one run in the order driven, s, and which of them count.

    `by_hand` says that one person pressed a stopwatch at the line. Raises BadInput for a time
    that is not above zero and at most ten minutes (named `lap N`), for over 500 laps, for a
    `counted` of another length; TooThin where no lap counts.
    """

    seconds: tuple[float, ...]
    counted: tuple[bool, ...]
    by_hand: bool = False

    def __post_init__(self) -> None:
        """Refuse what nobody can have driven."""
        checked_laps(self.seconds)
        if len(self.counted) != len(self.seconds):
            raise BadInput(
                "counted", f"{len(self.counted)} marks do not fit {len(self.seconds)} laps"
            )
        if not any(self.counted):
            raise TooThin("laps", "none of them counts")

    @classmethod
    def proposed(
        cls, seconds: Sequence[float], spread: float | None = None, *, by_hand: bool = False
    ) -> "RunLaps":
        """A run whose laps count as `mark_laps` proposes."""
        marks = mark_laps(seconds, spread)
        return cls(tuple(seconds), tuple(mark is None for mark in marks), by_hand)

    @property
    def middle(self) -> float:
        """The mean of the laps that count, s: robust by what does not count."""
        counting = [s for s, counts in zip(self.seconds, self.counted, strict=True) if counts]
        return sum(counting) / len(counting)


def checked_laps(seconds: Sequence[float]) -> tuple[float, ...]:
    """The times as floats. Raises BadInput, which names the lap, and for over 500 laps."""
    if len(seconds) > MOST_LAPS:
        raise BadInput("laps", f"must be at most {MOST_LAPS}, not {len(seconds)}")
    return tuple(
        positive(f"lap {number}", value, LONGEST_LAP)
        for number, value in enumerate(seconds, start=1)
    )


def usual_spread(runs: Sequence[Sequence[float]]) -> float:
    """How one driver's racing laps scatter within a run, s, as a standard deviation.

    s = 1.4826 median(m - t), m the median of each run, over all its laps t <= m, which slow ones
    do not widen; drawn to 0.15 s as four more laps would, our judgement, no source. Raises
    BadInput as `checked_laps` does.
    """
    away: list[float] = []
    for times in map(checked_laps, runs):
        middle = median(times) if times else 0.0
        away += [middle - time for time in times if time <= middle]
    own = MAD_FACTOR * median(away) if away else 0.0
    return math.sqrt((LAP_DOF * LAP_SCATTER**2 + len(away) * own**2) / (LAP_DOF + len(away)))


def mark_laps(seconds: Sequence[float], spread: float | None = None) -> tuple[LapMark | None, ...]:
    """What each lap seems to be where it is no racing lap, else None: a proposal.

    s is the driver's `usual_spread`, from this run alone where it is not given. m, the middle of
    the racing laps, begins at the run's lower third plus 0.43 s (normal), so that even half the
    laps may be slow, and is then the median of the laps not slow, until they stay the same. A
    lap is slow where t - m > max(2.5 s, 0.3 s), 'too fast' where t < 0.8 m: a press or a figure
    too many. A slow first lap is 'first'; two or more slow ones in a row are 'caution'; one alone
    is 'spin' where t > 1.2 m, else 'traffic'. Fewer than three laps are left as they are. Common
    practice, no source. Raises BadInput as `checked_laps` does.
    """
    times = checked_laps(seconds)
    if len(times) < FEWEST_TO_MARK:
        return (None,) * len(times)
    usual = usual_spread([times]) if spread is None else positive("spread", spread)
    reach = max(SLOW_SPREADS * usual, SLOW_BY)
    middle = sorted(times)[(len(times) - 1) // 3] + LOWER_THIRD * usual
    for _ in times:
        racing = [time for time in times if time <= middle + reach]
        if median(racing) == middle:
            break
        middle = median(racing)
    slow = [False, *(time > middle + reach for time in times[1:]), False]
    return tuple(
        _mark(time, place, middle, slow)
        if time > middle + reach or time < TOO_FAST * middle
        else None
        for place, time in enumerate(times)
    )


def _mark(time: float, place: int, middle: float, slow: Sequence[bool]) -> LapMark:
    """Which mark fits what is no racing lap; `slow` has all laps but the first, and ends."""
    if time < middle:
        return "too fast"
    if place == 0:
        return "first"
    if slow[place - 1] or slow[place + 1]:
        return "caution"
    return "spin" if time > SPIN * middle else "traffic"


def middle_variance(run: RunLaps, noise: LapNoise) -> float:
    """The variance of a run's middle from its laps alone, s^2.

    c' V c (JCGM 100:2008, 5.2.2), c = 1/m for each of the m laps that count, and
    V_ij = variance lag_1^|i - j|; by hand also 2 u^2 on its diagonal and -u^2 beside it, because
    one press ends a lap and begins the next: m laps in a row then have 2 u^2 / m^2.
    """
    counted = np.array([run.counted], dtype=float)
    lags = _lags(counted.shape[1])
    scatter = noise.variance * noise.lag_1**lags
    presses = _presses(lags) if run.by_hand else 0.0
    covariance = scatter + presses
    return float((counted @ covariance @ counted.T).item() / counted.sum() ** 2)


def middle_variances(runs: Sequence[RunLaps], noise: LapNoise) -> Floats:
    """`middle_variance` of each of many runs, s^2."""
    _, counted = _padded(runs)
    lags = _lags(counted.shape[1])
    scatter = ((counted @ noise.lag_1**lags) * counted).sum(axis=1) * noise.variance
    presses = ((counted @ _presses(lags)) * counted).sum(axis=1)
    by_hand = np.array([run.by_hand for run in runs])
    result: Floats = (scatter + by_hand * presses) / counted.sum(axis=1) ** 2
    return result


def lap_noise(runs: Sequence[RunLaps]) -> LapNoise:
    """How laps scatter about their run and how each follows the one before, over all runs.

    With d the counted laps less their run's mean, Q0 = sum d_i^2 and Q1 = sum d_i d_(i+1) over
    neighbours that both count. Both fall short because the mean is the laps' own; their
    expectations under variance lag_1^|i - j| (and under the presses of a hand) are exact, and
    variance and lag_1, within 0 to 0.8, are those that give both: a method of moments. The
    variance is drawn to (0.15 s)^2 with four degrees of freedom, our judgement, no source.
    """
    seconds, counted = _padded(runs)
    mean = (seconds * counted).sum(axis=1, keepdims=True) / counted.sum(axis=1, keepdims=True)
    away = (seconds - mean) * counted
    squares, products = float((away**2).sum()), float((away[:, 1:] * away[:, :-1]).sum())
    by_hand = np.array([run.by_hand for run in runs])
    lags = _lags(counted.shape[1])
    if by_hand.any():
        pressed = _moments(counted[by_hand], _presses(lags)[None])
        squares, products = squares - float(pressed[0][0]), products - float(pressed[1][0])
    squares = max(squares, 0.0)
    dof = float(counted.sum()) - len(runs)
    expected = _moments(counted, LAG_1[:, None, None] ** lags)
    if squares == 0.0 or expected[0][0] == 0.0:
        return LapNoise(LAP_DOF * LAP_SCATTER**2 / (LAP_DOF + dof), 0.0)
    place = int(np.argmin(np.abs(products / squares - expected[1] / expected[0])))
    variance = (LAP_DOF * LAP_SCATTER**2 + squares * dof / float(expected[0][place])) / (
        LAP_DOF + dof
    )
    return LapNoise(variance, float(LAG_1[place]))


def _moments(counted: Floats, covariances: Floats) -> tuple[Floats, Floats]:
    """Expected Q0 and Q1 over all runs under each covariance of laps, C x L x L."""
    number = counted.sum(axis=1)
    rows = (counted @ covariances) * counted  # C x R x L: what lap i has in common with its run
    total = rows.sum(axis=2)
    diagonal = np.diagonal(covariances, axis1=1, axis2=2) @ counted.T
    squares = (diagonal - total / number).sum(axis=1)
    pairs = counted[:, 1:] * counted[:, :-1]
    beside = np.diagonal(covariances, offset=1, axis1=1, axis2=2) @ pairs.T
    own = ((rows[:, :, 1:] + rows[:, :, :-1]) * pairs).sum(axis=2) / number
    products = (beside - own + pairs.sum(axis=1) * total / number**2).sum(axis=1)
    return squares, products


def _padded(runs: Sequence[RunLaps]) -> tuple[Floats, Floats]:
    """Times and 1 for a lap that counts, R x L, zeros where a run has fewer laps."""
    longest = max(len(run.seconds) for run in runs)
    seconds, counted = np.zeros((2, len(runs), longest))
    for row, run in enumerate(runs):
        seconds[row, : len(run.seconds)] = run.seconds
        counted[row, : len(run.counted)] = run.counted
    return seconds, counted


def _lags(laps: int) -> NDArray[np.int64]:
    place = np.arange(laps)
    apart: NDArray[np.int64] = np.abs(place[:, None] - place)
    return apart


def _presses(lags: NDArray[np.int64]) -> Floats:
    """The covariance of lap times from the presses between them, s^2."""
    covariance: Floats = PRESS_VARIANCE * (2.0 * (lags == 0) - (lags == 1))
    return covariance
