"""A driver's progress as it is read: a line a day or week, and the spread drawn over them."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from django.utils.safestring import SafeString

from cars.history.queries.progress import Period, Progress
from cars.mechanics.steadiness import FEWEST_LAPS
from cars.models import Feel
from clubsetup.clock.writing import day, short_day
from clubsetup.plots.periods import Ranged, over_periods

_BALANCE = (Feel.Balance.PUSHES, Feel.Balance.LOOSE, Feel.Balance.TURNS)


@dataclass(frozen=True, slots=True)
class PeriodLine:
    """One day or week. Empty texts where nobody said or timed anything."""

    when: str
    runs: int
    laps: int
    spread: str
    interval: str
    steady: str
    hands: str
    balance: str


@dataclass(frozen=True, slots=True)
class ProgressShown:
    """The newest first in the table; drawn the oldest first."""

    progress: Progress
    lines: list[PeriodLine]
    drawn: SafeString
    lead: str


def progress_shown(progress: Progress) -> ProgressShown:
    """In seconds, as laps are."""
    told = [each for each in progress.periods if each.steadiness]
    drawn = _drawn(progress) if told else ""
    lines = [_line(each, progress.by) for each in reversed(progress.periods)]
    return ProgressShown(progress, lines, SafeString(drawn), _lead(told, progress.by))


def _lead(told: Sequence[Period], by: str) -> str:
    if len(told) < 2:
        return (
            f"A {by} says something from {FEWEST_LAPS} laps that count up; two of them can be "
            "held against each other."
        )
    first, last = told[0], told[-1]
    one, other = first.steadiness, last.steadiness
    if one is None or other is None:
        return ""
    place = "in the week of" if by == "week" else "on"
    since = f"than {place} {day(first.start)}"
    if other.high_s < one.low_s:
        return f"The laps are closer together {since}."
    if other.low_s > one.high_s:
        return f"The laps are farther apart {since}."
    return f"Whether the laps are closer together {since} cannot be told yet."


def _line(period: Period, by: str) -> PeriodLine:
    found = period.steadiness
    when = f"week of {day(period.start)}" if by == "week" else day(period.start)
    return PeriodLine(
        when=when,
        runs=period.runs,
        laps=period.laps,
        spread=f"± {found.spread_s:.2f} s" if found else "",
        interval=f"{found.low_s:.2f} to {found.high_s:.2f} s" if found else "",
        steady=f"{found.steady} of {found.laps}" if found else "",
        hands=_counts(period.hands, Feel.Hands),
        balance=_counts(period.balance, _BALANCE),
    )


def _counts(counted: Mapping[str, int], choices: type[Feel.Hands] | Sequence[Feel.Balance]) -> str:
    """'3 straight, 1 far left'."""
    return ", ".join(f"{counted[one]} {one.label.lower()}" for one in choices if counted.get(one))


def _drawn(progress: Progress) -> str:
    points = []
    for each in progress.periods:
        found = each.steadiness
        words = short_day(each.start)
        points.append(
            Ranged(words, found.spread_s, found.low_s, found.high_s) if found else Ranged(words)
        )
    name = f"Spread of the laps in seconds, {progress.by} by {progress.by}; the table says the same"
    return over_periods(points, name=name)
