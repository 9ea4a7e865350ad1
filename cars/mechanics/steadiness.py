"""How steadily somebody drives: the spread of racing laps about the middle of their run.

Times in s.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import median

from cars.mechanics.drift import MAD_FACTOR
from cars.mechanics.errors import TooThin

# Fewer laps say nothing of a spread. Our judgement, no source.
FEWEST_LAPS = 12
FEWEST_OF_RUN = 3
# A lap this near its run's middle is a steady one. Our judgement, no source.
STEADY_WITHIN = 0.15  # s
# The variance of ln(MAD) of n normal figures is 1 / (2 n e), its efficiency e = 36.74 %
# (Rousseeuw and Croux 1993, J. Am. Stat. Assoc. 88, table 1 and section 1).
MAD_EFFICIENCY = 0.3674
NORMAL_95 = 1.959963984540054


@dataclass(frozen=True, slots=True)
class Steadiness:
    """The spread with its 95 % interval in s, the steady laps among all, and the runs they are of.

    The interval is of laps that scatter independently: slow stretches of a run make it too narrow.
    """

    spread_s: float
    low_s: float
    high_s: float
    steady: int
    laps: int
    runs: int


def steadiness_of(runs: Sequence[Sequence[float]]) -> Steadiness:
    """Of the laps that count of each run, s; a run of fewer than three is left out.

    s = 1.4826 median |t - m|, m the mean of the lap's own run, so that a faster car or a warmer day
    is no spread; each |t - m| is made larger by sqrt(n / (n - 1)), n the laps of the run, for m is
    taken from the same laps. The interval is s exp(+-1.96 / sqrt(2 n e)), n all laps. Raises
    TooThin below twelve laps.
    """
    counted = [list(times) for times in runs if len(times) >= FEWEST_OF_RUN]
    away: list[float] = []
    steady = 0
    for times in counted:
        middle, wider = sum(times) / len(times), math.sqrt(len(times) / (len(times) - 1))
        steady += sum(abs(time - middle) <= STEADY_WITHIN for time in times)
        away += [wider * abs(time - middle) for time in times]
    if len(away) < FEWEST_LAPS:
        raise TooThin("laps", f"at least {FEWEST_LAPS} in runs of three or more are needed")
    spread = MAD_FACTOR * median(away)
    reach = math.exp(NORMAL_95 / math.sqrt(2.0 * len(away) * MAD_EFFICIENCY))
    return Steadiness(spread, spread / reach, spread * reach, steady, len(away), len(counted))
