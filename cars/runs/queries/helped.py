"""Did it help: two groups of a car's runs, held against the record of who drove them."""

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from typing import Any, NamedTuple
from uuid import UUID

from django.db.models import F
from django.utils import timezone

from cars.mechanics.helped import Conditions, Help, TimedRun, did_it_help
from cars.mechanics.laps import RunLaps
from cars.models import Car, Laps, Run
from cars.runs.queries.runs import changes_kept
from clubsetup.access.errors import Invalid

# So many runs of the record, the newest, say how this driver's runs scatter: a season.
MOST_OF_RECORD = 480
MOST_COMPARED = 40  # of each group


class _Kept(NamedTuple):
    """What is asked of a run here, in one row of a query."""

    pk: UUID
    ran_at: datetime
    sheet: UUID | None
    changes: list[dict[str, str]] | None
    times: list[Decimal]
    marks: list[str]
    timed_by: str
    driver: UUID | None
    surface: str
    surface_state: str
    temperature: Decimal | None


@dataclass(frozen=True, slots=True)
class Compared:
    """The two groups by id, in the order driven, and what they say; None where they say nothing."""

    before: list[UUID]
    after: list[UUID]
    help: Help

    @property
    def is_pair(self) -> bool:
        """One run against one, which tells nothing."""
        return len(self.before) == len(self.after) == 1


def compare(car: Car, before: Collection[UUID], after: Collection[UUID]) -> Compared:
    """The runs after a change with those before it. Raises Invalid, which names the group.

    The record: the newest runs of the same driver on the same surface with the team's cars.
    """
    for name, group in (("before", before), ("after", after)):
        if not group:
            raise Invalid(name, "Choose at least one run with laps.")
        if len(group) > MOST_COMPARED:
            raise Invalid(name, f"Compare at most {MOST_COMPARED} runs.")
    if set(before) & set(after):
        raise Invalid("after", "A run is before the change or after it, not both.")
    chosen = _kept(_timed().filter(pk__in=[*before, *after], car=car))
    for name, group in (("before", before), ("after", after)):
        if set(group) - {run.pk for run in chosen}:
            raise Invalid(name, "One of these runs has no laps that count, or is none of this car.")
    record = _record(car, chosen)
    numbered = _timed_runs([*chosen, *(run for run in record if run.pk not in {*before, *after})])
    one, other = ([numbered[pk] for pk in group] for group in (before, after))
    rest = [timed for pk, timed in numbered.items() if pk not in {*before, *after}]
    return Compared(list(before), list(after), did_it_help(one, other, rest))


def _timed() -> Any:
    """Runs with laps of which at least one counts."""
    return (
        Run.objects.current()
        .filter(
            details__replaced_at=None,
            laps__replaced_at=None,
            laps__isnull=False,
            laps__marks__contains=[""],
        )
        .annotate(
            # Of the car's state these alone: its figures are many, and a season has many runs.
            changes=F("car_state__changes"),
            times=F("laps__times"),
            marks=F("laps__marks"),
            timed_by=F("laps__timed_by"),
            driver=F("details__driver_id"),
            surface=F("details__surface"),
            surface_state=F("details__surface_state"),
            temperature=F("details__weather__temperature"),
        )
    )


_NAMES = ("pk", "ran_at", "sheet_id", *_Kept._fields[3:])


def _kept(rows: Any) -> list[_Kept]:
    return [_Kept._make(row) for row in rows.values_list(*_NAMES)]


def _record(car: Car, chosen: Sequence[_Kept]) -> list[_Kept]:
    """Of the one driver and surface of the chosen runs; none where they are of several."""
    drivers, surfaces = {run.driver for run in chosen}, {run.surface for run in chosen}
    if len(drivers) != 1 or len(surfaces) != 1 or None in drivers:
        return []
    rows = _timed().filter(
        team=car.team_id,
        details__driver__in=drivers,
        details__surface__in=surfaces,
        ran_at__lte=max(run.ran_at for run in chosen),
    )
    return _kept(rows.order_by("-ran_at", "-pk")[:MOST_OF_RECORD])


def _timed_runs(runs: Iterable[_Kept]) -> dict[UUID, TimedRun]:
    """Each run with its day and its place in it, of all that are looked at."""
    placed: dict[int, int] = {}
    timed: dict[UUID, TimedRun] = {}
    for run in sorted(runs, key=lambda each: (each.ran_at, each.pk)):
        day = timezone.localdate(run.ran_at).toordinal()
        placed[day] = placed.get(day, 0) + 1
        timed[run.pk] = TimedRun(
            day=day,
            order=placed[day],
            laps=RunLaps(
                tuple(float(seconds) for seconds in run.times),
                tuple(not mark for mark in run.marks),
                by_hand=run.timed_by == Laps.TimedBy.HAND,
            ),
            conditions=Conditions(
                surface_state=run.surface_state or None,
                tyres=_tyres(run.changes or []),
                driver=run.driver,
                temperature=None if run.temperature is None else float(run.temperature),
            ),
            setup=(run.sheet, changed_on(run.changes or [])),
        )
    return timed


def changed_on(kept_changes: Iterable[dict[str, str]]) -> tuple[tuple[str, str, str], ...]:
    """What stood changed on the car, whichever order it was made in."""
    made: dict[tuple[str, str], Decimal] = {}
    for kept in kept_changes:
        where = kept["adjuster"], kept["spot"]
        made[where] = made.get(where, Decimal(0)) + Decimal(kept["amount"])
    return tuple(sorted((*where, str(amount)) for where, amount in made.items() if amount))


def _tyres(kept_of_run: Iterable[dict[str, str]]) -> tuple[str, ...]:
    """The tyres that were swapped since the sheet: others than before are a doubt."""
    return tuple(sorted(kept["id"] for kept in kept_of_run if kept["adjuster"] == "tyre"))


def last_change(runs: Sequence[Any]) -> tuple[list[UUID], list[UUID]] | None:
    """Of a day's runs with laps, the newest first: those that the car went out for as it stood
    last, and those as it stood before that change. None without a change between them."""
    timed = [each for each in runs if each.counted]
    if not timed:
        return None
    now = set_up_of(timed[0].run)
    earlier = next((set_up_of(each.run) for each in timed if set_up_of(each.run) != now), None)
    if earlier is None:
        return None
    after = [each.run.pk for each in reversed(timed) if set_up_of(each.run) == now]
    before = [each.run.pk for each in reversed(timed) if set_up_of(each.run) == earlier]
    return before, after


def set_up_of(run: Run) -> tuple[Any, ...]:
    """What a car stood on, and what was changed since, when it went out."""
    return run.sheet_id, changed_on(changes_kept(run))
