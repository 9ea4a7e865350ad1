"""Which of several cars is the odd one out, and whether a figure came nearer to one that was named.

    middle = median(x),  spread s = c(n) 1.482602 median(|x - middle|),
    score of a car = (x - middle) / max(s, u)

u is the standard uncertainty of the tool: on sixteenths of an inch the median deviation is often 0,
and a car one step off would be infinitely odd. 1.482602 = 1 / (0.75 quantile of the normal), with
which the median deviation of a large normal sample comes to its standard deviation: Rousseeuw and
Croux, Journal of the American Statistical Association 88 (1993) 1273, from memory. c(n) makes that
so in the mean for few cars; c(n) and the score from which a car is called odd were simulated here
with 400,000 even fields of each size (`tests/mechanics/test_board.py` does it again). c(n) agrees
to 1.5 % with Croux and Rousseeuw, Computational Statistics 1 (1992) 411, from memory.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import median
from typing import Literal

from cars.mechanics.errors import TooThin, finite, positive

FEWEST = 4
NORMAL = 1.482602
FEW = {4: 1.362, 5: 1.216, 6: 1.189, 7: 1.139, 8: 1.126, 9: 1.101, 10: 1.097, 11: 1.080, 12: 1.077}
# In 95 of 100 fields that are even no car of a measure reaches it. More for an odd number of cars:
# their median is one of them, so that a deviation is 0.
ODD_FROM = {4: 5.1, 5: 6.5, 6: 4.65, 7: 5.1, 8: 4.35, 9: 4.6, 10: 4.2, 11: 4.3, 12: 4.1}
ODD_FROM_MORE = 4.1
COVERAGE = 2.0  # about 95 %: JCGM 100:2008, 6.3.3


@dataclass(frozen=True, slots=True)
class Field:
    """Several cars in one figure. `scores` in the order of the cars; `odd_from` is the least that
    is called odd."""

    middle: float
    spread: float
    scores: tuple[float, ...]
    odd_from: float

    @property
    def odd(self) -> list[int]:
        """The places of the odd ones, the oddest first."""
        far = [n for n, score in enumerate(self.scores) if abs(score) >= self.odd_from]
        return sorted(far, key=lambda n: -abs(self.scores[n]))


def small_sample(cars: int) -> float:
    """c(n) of the module; from 13 on n / (n - 0.8), which the simulation follows to 0.5 %."""
    return FEW.get(cars) or cars / (cars - 0.8)


def field_of(values: Sequence[float], u: float) -> Field:
    """The middle, spread and scores of one figure of several cars, all in one unit.

    `u`: standard uncertainty of the tool, above 0. Raises TooThin for fewer than four cars,
    BadInput for a value or `u` that is no number.
    """
    positive("u", u)
    count = len(values)
    if count < FEWEST:
        raise TooThin("cars", f"{count} cars; it takes {FEWEST}")
    known = [finite("value", value) for value in values]
    middle = median(known)
    spread = small_sample(count) * NORMAL * median(abs(value - middle) for value in known)
    floor = max(spread, u)
    scores = tuple((value - middle) / floor for value in known)
    return Field(middle, spread, scores, ODD_FROM.get(count, ODD_FROM_MORE))


Followed = Literal["there", "towards", "away", "cannot tell"]


def followed(
    wanted: float, before: float, after: float, *, u_before: float, u_after: float, tolerance: float
) -> Followed:
    """What came of a figure that somebody named, all in one unit.

    'there' within the tolerance of it; else nearer or farther by more than twice what two readings
    leave open. Raises BadInput for what is no number.
    """
    distance = abs(finite("after", after) - finite("wanted", wanted))
    if distance <= positive("tolerance", tolerance):
        return "there"
    nearer = abs(finite("before", before) - wanted) - distance
    if abs(nearer) <= COVERAGE * math.hypot(u_before, u_after):
        return "cannot tell"
    return "towards" if nearer > 0 else "away"
