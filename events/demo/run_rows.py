"""The rows of the demo's days at the track, as the actions of cars/runs would have written them."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal
from typing import Any

from django.db.models import Model

from cars.mechanics.laps import mark_laps
from cars.models import Feel, Laps, Run, RunDetails, Sheet, TrackChange, Weather
from clubsetup.access.models import TrailLine, User
from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.reading import parse
from events.demo.garage import Runner
from events.demo.track_days import DemoDay, DemoRun, Turned
from events.models import Entry, EntryRun
from teams.models import Track

FUEL = "0.3 gal"
PRESSURE = Decimal(992)  # hPa, of the place
IN_TABLE_ORDER = (TrackChange, Weather, Run, RunDetails, Feel, Laps, EntryRun, TrailLine)
AT_ONCE = 500


@dataclass(frozen=True, slots=True)
class DayClock:
    """When the runs of a day went out."""

    first: datetime
    apart: timedelta

    def run(self, order: int) -> datetime:
        """When the run went out."""
        return self.first + self.apart * (order - 1)

    def change(self, turned: Turned) -> datetime:
        """When something was changed before it, in the order made."""
        return self.run(turned.before) - self.apart / 3 + timedelta(microseconds=turned.number)


@dataclass(frozen=True, slots=True)
class NotedDay:
    """A day with what its rows point at."""

    day: DemoDay
    runner: Runner
    sheet: Sheet
    track: Track
    by: User
    clock: DayClock
    entry: Entry | None


class Rows:
    """Rows of all tables that are written together by one person."""

    def __init__(self) -> None:
        self.rows: dict[type[Model], list[Any]] = {model: [] for model in IN_TABLE_ORDER}

    def add(self, row: Model) -> None:
        """One more."""
        self.rows[type(row)].append(row)

    def line(self, noted: NotedDay, did: str, on: Model, **detail: Any) -> None:
        """The line in the trail of what was just added."""
        self.add(
            TrailLine(
                by=noted.by,
                did=did,
                on_kind=on._meta.label_lower,
                on_id=on.pk,
                team_id=noted.sheet.team_id,
                detail=detail,
            )
        )

    def write(self) -> None:
        """All of them, a table at a time, as whoever is looking."""
        for model, rows in self.rows.items():
            model._default_manager.bulk_create(rows, batch_size=AT_ONCE)
            rows.clear()


def add_changes(rows: Rows, noted: NotedDay, made: dict[int, TrackChange]) -> None:
    """What was turned that day; `made` are those of the weekend, by number."""
    for turned in noted.day.turned:
        change = TrackChange(
            sheet=noted.sheet,
            team_id=noted.sheet.team_id,
            adjuster=turned.adjuster,
            spot=turned.spot,
            amount=turned.amount,
            unit=turned.unit,
            by=noted.by,
            made_at=noted.clock.change(turned),
            puts_back=made[turned.puts_back] if turned.puts_back else None,
        )
        made[turned.number] = change
        rows.add(change)
        if change.puts_back_id:
            rows.line(noted, "put_back", noted.sheet, changes=[str(change.puts_back_id)])
        else:
            what = {name: getattr(turned, name) for name in ("adjuster", "spot", "unit")}
            rows.line(noted, "changed_at_track", noted.sheet, amount=str(turned.amount), **what)


def add_weather(rows: Rows, noted: NotedDay) -> Weather:
    """The air of the day, noted before its first run."""
    weather = Weather(
        team_id=noted.sheet.team_id,
        track=noted.track,
        noted_at=noted.clock.run(1) - noted.clock.apart / 2,
        temperature=Decimal(str(noted.day.temperature)),
        humidity=Decimal(noted.day.humidity),
        pressure=PRESSURE,
        pressure_of=Weather.PressureOf.PLACE,
        by=noted.by,
    )
    rows.add(weather)
    rows.line(noted, "noted", weather)
    return weather


def add_run(
    rows: Rows, noted: NotedDay, run: DemoRun, state: dict[str, Any], weather: Weather | None
) -> None:
    """A run with what stands of it."""
    row = Run(
        car=noted.runner.car,
        team_id=noted.sheet.team_id,
        ran_at=noted.clock.run(run.order),
        sheet=noted.sheet,
        car_state=state,
        by=noted.by,
    )
    rows.add(row)
    rows.line(noted, "noted", row)
    for each in (_details(noted, run, row, weather), *_feels(noted, run, row)):
        rows.add(each)
    if run.seconds:
        rows.add(_laps(noted, run, row))
    if noted.entry is not None:
        tie = EntryRun(entry=noted.entry, run=row, team_id=row.team_id, by=noted.by)
        rows.add(tie)
        rows.line(noted, "tied", row, entry=str(noted.entry.pk))


def _details(noted: NotedDay, run: DemoRun, row: Run, weather: Weather | None) -> RunDetails:
    return RunDetails(
        run=row,
        team_id=row.team_id,
        kind=run.kind,
        driver=noted.runner.driver,
        track=noted.track,
        weather=weather,
        surface=noted.day.surface,
        surface_state=noted.day.state,
        finish=run.finish,
        fuel=parse(FUEL, Kind.VOLUME).value,
        fuel_typed=FUEL,
        damage=run.damage,
        damage_spots=list(run.spots),
        note=run.note,
        by=noted.by,
    )


def _feels(noted: NotedDay, run: DemoRun, row: Run) -> Iterable[Feel]:
    for said_by, feel in ((Feel.SaidBy.DRIVER, run.said), (Feel.SaidBy.HANDLER, run.saw)):
        if feel:
            yield Feel(run=row, team_id=row.team_id, said_by=said_by, by=noted.by, **feel)


def _laps(noted: NotedDay, run: DemoRun, row: Run) -> Laps:
    by_hand = noted.day.by_hand
    return Laps(
        run=row,
        team_id=row.team_id,
        times=[Decimal(str(each)) for each in run.seconds],
        marks=[(mark or "").replace(" ", "-") for mark in mark_laps(run.seconds)],
        timed_by=Laps.TimedBy.HAND if by_hand else Laps.TimedBy.TRANSPONDER,
        typed=" ".join(f"{each:.{2 if by_hand else 3}f}" for each in run.seconds),
        by=noted.by,
    )
