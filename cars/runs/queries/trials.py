"""How often a team tried what is suggested, at the same feel, and what came of it.

A trial is a stretch of one car's runs of one day, on one sheet and with one driver, in which one
adjuster at one spot alone was changed, there and back as often as it was. It is at the feel of the
last run before the change.
"""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from itertools import groupby
from typing import Any, NamedTuple
from uuid import UUID

from django.contrib.postgres.fields import ArrayField
from django.db.models import FilteredRelation, FloatField, Q
from django.db.models.fields.json import KeyTransform
from django.db.models.functions import Cast
from django.utils import timezone

from cars.mechanics.helped import TimedRun, Verdict
from cars.mechanics.laps import RunLaps
from cars.mechanics.trials import Trial, judge_trials
from cars.models import Car, Feel, Laps, Run
from cars.runs.queries.helped import MOST_OF_RECORD
from cars.runs.queries.suggestions import PLACES

# So many runs, the newest with a driver, say how they scatter there: some twenty days.
MOST_FOR_SCATTER = 160
FEELS = (*PLACES, "hands", "steering")

Spot = tuple[str, str]  # an adjuster and where
SetUp = Mapping[Spot, Decimal]


class RunTried(NamedTuple):
    """What is asked of one run of the record; `setup` is what stood changed since its sheet."""

    pk: UUID
    car: UUID
    day: int
    ran_at: Any
    sheet: UUID | None
    driver: UUID | None
    setup: SetUp
    felt: Mapping[str, str]


class Stretch(NamedTuple):
    """Runs before and after one change, by their places in the record.

    `way` is 1 where the amount after is more than that before, else -1; `felt` the feel of the
    last run before it.
    """

    spot: Spot
    way: int
    felt: Mapping[str, str]
    before: tuple[int, ...]
    after: tuple[int, ...]


class Asked(NamedTuple):
    """A change and the feel it is for: what is not empty must have been felt."""

    spot: Spot
    way: int
    felt: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class Tries:
    """What came of the trials of one change: how often each verdict."""

    verdicts: Mapping[Verdict, int]

    @property
    def count(self) -> int:
        """How often it was tried."""
        return sum(self.verdicts.values())

    @property
    def for_it(self) -> int:
        """How much more often it was shown faster than slower."""
        return self.verdicts.get("faster", 0) - self.verdicts.get("slower", 0)


NEVER = Tries({})


def stretches(runs: Sequence[RunTried]) -> list[Stretch]:
    """Every stretch in which two set-ups take turns that differ in one adjuster at one spot.

    `runs` of any cars and days, in the order driven. The next stretch begins with the runs that
    the one before ended with, so that a set-up that was changed twice is in both.
    """
    found: list[Stretch] = []
    places = sorted(range(len(runs)), key=lambda place: _stand(runs[place]))
    for _, each in groupby(places, key=lambda place: _stand(runs[place])[:-1]):
        found += _of_one_day(list(each), runs)
    return found


def _stand(run: RunTried) -> tuple[Any, ...]:
    return str(run.car), run.day, str(run.sheet), str(run.driver), run.ran_at


def _of_one_day(places: list[int], runs: Sequence[RunTried]) -> Iterable[Stretch]:
    setups = [runs[place].setup for place in places]
    start = 0
    while start < len(places):
        changed = next((k for k in range(start, len(places)) if setups[k] != setups[start]), None)
        if changed is None:
            return
        pair = setups[start], setups[changed]
        end = next((k for k in range(changed, len(places)) if setups[k] not in pair), len(places))
        what = _difference(*pair)
        if len(what) == 1:
            (spot, by), part = next(iter(what.items())), range(start, end)
            yield Stretch(
                spot,
                1 if by > 0 else -1,
                runs[places[changed - 1]].felt,
                tuple(places[k] for k in part if setups[k] == pair[0]),
                tuple(places[k] for k in part if setups[k] == pair[1]),
            )
        if end == len(places):
            return
        # Back to where the last of the two set-ups was put on.
        start = end - 1
        while setups[start - 1] == setups[end - 1]:
            start -= 1


def _difference(before: SetUp, after: SetUp) -> dict[Spot, Decimal]:
    spots = {*before, *after}
    by = {spot: after.get(spot, Decimal(0)) - before.get(spot, Decimal(0)) for spot in spots}
    return {spot: amount for spot, amount in by.items() if amount}


def is_at(felt: Mapping[str, str], asked: Mapping[str, str]) -> bool:
    """Whether all that is asked for was felt; under `anywhere`, at one of the three places."""
    anywhere = asked.get("anywhere", "")
    if anywhere and anywhere not in {felt.get(place, "") for place in PLACES}:
        return False
    return all(felt.get(name, "") == asked[name] for name in FEELS if asked.get(name))


def tries_of(
    car: Car, surface: str, asked: Sequence[Asked], last: tuple[list[UUID], list[UUID]] | None
) -> tuple[list[Tries], Verdict | None]:
    """Of each change how often the team tried it on this surface, with cars of this chassis; and
    what the runs after the `last` change say against those before it.

    The newest runs with laps, so many as `MOST_OF_RECORD`. Two queries.
    """
    runs = _record(car, surface)
    wanted = {(one.spot, one.way) for one in asked}
    tried = [one for one in stretches(runs) if (one.spot, one.way) in wanted]
    last_one = _last_of(runs, last)
    verdicts = _judged([*tried, *([last_one] if last_one else [])], runs)
    of_last = verdicts.pop() if last_one else None
    pairs = list(zip(tried, verdicts, strict=True))
    return [_tries(one, pairs) for one in asked], of_last


def _tries(asked: Asked, tried: Sequence[tuple[Stretch, Verdict]]) -> Tries:
    mine = (
        verdict
        for stretch, verdict in tried
        if (stretch.spot, stretch.way) == (asked.spot, asked.way)
        and is_at(stretch.felt, asked.felt)
    )
    return Tries(Counter(mine))


def _last_of(
    runs: Sequence[RunTried], last: tuple[list[UUID], list[UUID]] | None
) -> Stretch | None:
    """The runs of the last change among those of the record; None where one of them is not."""
    if last is None:
        return None
    places = {run.pk: place for place, run in enumerate(runs)}
    before, after = ([places[pk] for pk in group if pk in places] for group in last)
    if not before or not after or len({runs[place].driver for place in (*before, *after)}) > 1:
        return None
    return Stretch(("", ""), 1, {}, tuple(before), tuple(after))


def _record(car: Car, surface: str) -> list[RunTried]:
    """The team's newest runs with laps that count, in the order driven, each at the feel that the
    driver said; what they did not say as the handler saw it."""
    said, saw = (
        FilteredRelation("feels", condition=Q(feels__said_by=by, feels__replaced_at=None))
        for by in (Feel.SaidBy.DRIVER, Feel.SaidBy.HANDLER)
    )
    rows = (
        Run.objects.current()
        .filter(
            team=car.team_id,
            car__chassis=car.chassis_id,
            details__replaced_at=None,
            details__surface=surface,
            laps__replaced_at=None,
            laps__marks__contains=[""],
        )
        .annotate(said=said, saw=saw)
        .order_by("-ran_at", "-pk")
        .values_list(
            *("pk", "car", "ran_at", "sheet", "details__driver"),
            KeyTransform("changes", "car_state"),
            *(f"{by}__{name}" for by in ("said", "saw") for name in FEELS),
        )[:MOST_OF_RECORD]
    )
    return [_run_tried(*row) for row in reversed(rows)]


def _run_tried(  # noqa: PLR0917 (a row of the query)
    pk: UUID,
    car: UUID,
    ran_at: datetime,
    sheet: UUID | None,
    driver: UUID | None,
    changes: Sequence[Mapping[str, str]] | None,
    *feels: str | None,
) -> RunTried:
    both = zip(FEELS, feels[: len(FEELS)], feels[len(FEELS) :], strict=True)
    return RunTried(
        pk=pk,
        car=car,
        day=timezone.localdate(ran_at).toordinal(),
        ran_at=ran_at,
        sheet=sheet,
        driver=driver,
        setup=_set_up(changes or ()),
        felt={name: felt for name, said, saw in both if (felt := said or saw)},
    )


def _set_up(changes: Iterable[Mapping[str, str]]) -> dict[Spot, Decimal]:
    setup: dict[Spot, Decimal] = {}
    for kept in changes:
        spot = kept["adjuster"], kept["spot"]
        setup[spot] = setup.get(spot, Decimal(0)) + Decimal(kept["amount"])
    return {spot: amount for spot, amount in setup.items() if amount}


def _judged(tried: Sequence[Stretch], runs: Sequence[RunTried]) -> list[Verdict]:
    """Each by the record of its driver; one pair, and A-B without A again, need no laps."""
    verdicts: list[Verdict] = ["cannot tell"] * len(tried)
    worth = [place for place, one in enumerate(tried) if len(one.before) + len(one.after) > 2]
    drivers = {runs[tried[place].before[0]].driver for place in worth}
    if not worth:
        return verdicts
    own = {driver: _places_for(driver, runs, [tried[p] for p in worth]) for driver in drivers}
    laps = _laps({runs[place].pk for places in own.values() for place in places})
    for driver, places in own.items():
        asked = [place for place in worth if runs[tried[place].before[0]].driver == driver]
        timed = _timed([runs[place] for place in places], laps)
        at = {place: number for number, place in enumerate(places)}
        trials = [
            Trial(
                tuple(at[each] for each in tried[place].before),
                tuple(at[each] for each in tried[place].after),
            )
            for place in asked
        ]
        for place, said in zip(asked, judge_trials(trials, timed), strict=True):
            verdicts[place] = said.verdict
    return verdicts


def _places_for(
    driver: UUID | None, runs: Sequence[RunTried], tried: Sequence[Stretch]
) -> list[int]:
    """The runs that say how this driver's runs scatter, and those that are compared.

    Of runs of which nobody said who drove, those alone that are compared.
    """
    mine = [one for one in tried if runs[one.before[0]].driver == driver]
    compared = {place for one in mine for place in (*one.before, *one.after)}
    newest = [] if driver is None else [p for p, run in enumerate(runs) if run.driver == driver]
    return sorted(compared | set(newest[-MOST_FOR_SCATTER:]))


def _laps(runs: set[UUID]) -> dict[UUID, RunLaps]:
    seconds = Cast("times", ArrayField(FloatField()))
    rows = Laps.objects.current().filter(run__in=runs).annotate(seconds=seconds)
    return {
        pk: RunLaps(
            tuple(times), tuple(not mark for mark in marks), by_hand=by == Laps.TimedBy.HAND
        )
        for pk, times, marks, by in rows.values_list("run", "seconds", "marks", "timed_by")
    }


def _timed(runs: Sequence[RunTried], laps: Mapping[UUID, RunLaps]) -> list[TimedRun]:
    """Each with its day and its place in it, of all that are looked at."""
    placed: dict[int, int] = {}
    timed = []
    for run in runs:
        placed[run.day] = placed.get(run.day, 0) + 1
        setup = run.car, run.sheet, tuple(sorted(run.setup.items()))
        timed.append(TimedRun(run.day, placed[run.day], laps[run.pk], setup=setup))
    return timed
