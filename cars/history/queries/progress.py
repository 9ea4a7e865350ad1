"""How one driver gets on, day by day or week by week; never held against another driver."""

from collections import Counter, defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from django.db.models.functions import TruncDay, TruncWeek

from cars.mechanics.errors import TooThin
from cars.mechanics.steadiness import Steadiness, steadiness_of
from cars.models import Feel, Laps, Run
from clubsetup.access.errors import Invalid, NoSuchPage
from teams.models import Driver

BY = {"week": (TruncWeek, timedelta(days=7)), "day": (TruncDay, timedelta(days=1))}
A_PAGE = 12
PLACES = ("entry", "middle", "exit")


@dataclass(frozen=True, slots=True)
class Period:
    """A day, or the week from its Monday, in which the driver ran. `steadiness`: None of few laps.

    `hands` counts runs, `balance` corners' parts: a run may push at entry and be loose at exit.
    """

    start: date
    runs: int
    laps: int
    steadiness: Steadiness | None
    hands: Mapping[str, int]
    balance: Mapping[str, int]


@dataclass(frozen=True, slots=True)
class Progress:
    """The oldest first. `earlier`: what the page before is asked with, if there is one."""

    driver: Driver
    by: str
    periods: list[Period]
    earlier: date | None


def by_of(given: str) -> str:
    """'week' or 'day'. Raises Invalid."""
    if given not in BY:
        raise Invalid("by", "Choose week or day.")
    return given


def before_of(given: str | None) -> date | None:
    """The day before which a page ends. Raises NoSuchPage."""
    try:
        return date.fromisoformat(given) if given else None
    except ValueError as error:
        raise NoSuchPage("before") from error


def progress_of(driver: Driver, by: str, before: date | None = None) -> Progress:
    """The newest twelve days or weeks with a run, by the clock of the team's club. Four queries."""
    zone = driver.team.club.zone()
    truncate, length = BY[by]
    rows = Run.objects.current().filter(
        team=driver.team_id, details__replaced_at=None, details__driver=driver
    )
    if before is not None:
        rows = rows.filter(ran_at__lt=_begins(before, zone))
    starts = rows.annotate(start=truncate("ran_at", tzinfo=zone)).order_by("-start")
    found = list(starts.values_list("start", flat=True).distinct()[: A_PAGE + 1])
    days = [each.astimezone(zone).date() for each in found[:A_PAGE]]
    if not days:
        return Progress(driver, by, [], None)
    shown = rows.filter(ran_at__gte=_begins(days[-1], zone))
    ends = _begins(days[0] + length, zone)
    ran = dict(shown.filter(ran_at__lt=ends).values_list("pk", "ran_at").order_by())
    start_of = {pk: _start(at.astimezone(zone).date(), by) for pk, at in ran.items()}
    laps, feels = _laps(list(ran)), _feels(list(ran))
    periods = [
        _period(day, [pk for pk in ran if start_of[pk] == day], laps, feels)
        for day in reversed(days)
    ]
    return Progress(driver, by, periods, days[-1] if len(found) > A_PAGE else None)


def _begins(day: date, zone: ZoneInfo) -> datetime:
    return datetime.combine(day, time(), zone)


def _start(day: date, by: str) -> date:
    return day - timedelta(days=day.weekday()) if by == "week" else day


def _laps(runs: Sequence[UUID]) -> dict[UUID, list[float]]:
    """The laps that count of each run that has any."""
    rows = Laps.objects.current().filter(run__in=runs).values_list("run", "times", "marks")
    return {
        run: [float(seconds) for seconds, mark in zip(times, marks, strict=True) if not mark]
        for run, times, marks in rows
    }


def _feels(runs: Sequence[UUID]) -> dict[UUID, dict[str, Any]]:
    """What was said of each run, by who said it."""
    found: dict[UUID, dict[str, Any]] = defaultdict(dict)
    for feel in Feel.objects.current().filter(run__in=runs).order_by():
        found[feel.run_id][feel.said_by] = feel
    return found


def _period(
    start: date,
    runs: Sequence[UUID],
    laps: Mapping[UUID, list[float]],
    feels: Mapping[UUID, dict[str, Any]],
) -> Period:
    counted = [laps[pk] for pk in runs if laps.get(pk)]
    try:
        steadiness = steadiness_of(counted)
    except TooThin:
        steadiness = None
    hands: Counter[str] = Counter()
    balance: Counter[str] = Counter()
    for pk in runs:
        said = feels.get(pk, {})
        # The handler sees the hands; how the car goes round is the driver's to say.
        if seen := _first(said, "hands", (Feel.SaidBy.HANDLER, Feel.SaidBy.DRIVER)):
            hands[seen] += 1
        for place in PLACES:
            if felt := _first(said, place, (Feel.SaidBy.DRIVER, Feel.SaidBy.HANDLER)):
                balance[felt] += 1
    return Period(start, len(runs), sum(map(len, counted)), steadiness, hands, balance)


def _first(said: Mapping[str, Any], name: str, order: Sequence[str]) -> str:
    texts = (getattr(said[by], name) for by in order if by in said)
    return next(filter(None, texts), "")
