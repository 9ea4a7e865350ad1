"""Writes the demo's seasons at the track: what was turned, what ran, and how it went.

Many rows at once, and not by an action each: three seasons would take minutes. They are the rows
that the actions write, each with its line in the trail, as the person whose they are and through
the same policies; the car's state with a run is computed by the query that a page has it from.
"""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from datetime import date, datetime, time, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from django.utils import timezone

from cars.catalogue.keys import Key
from cars.mechanics import CORNER_NAMES
from cars.models import Sheet, TrackChange, Weather
from cars.plans.queries.turns import TurnTable, turn_table
from cars.runs.actions.track_readings import take_track_readings
from cars.runs.queries.car_now import CarNow, car_on
from cars.sheets.actions.closed_figures import keep_figures
from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.reading import Typed, parse
from clubsetup.quantities.writing import Style, show
from events.demo.cast import Cast
from events.demo.driving import Driving
from events.demo.garage import Runner
from events.demo.run_rows import DayClock, NotedDay, Rows, add_changes, add_run, add_weather
from events.demo.track_days import DemoDay
from events.demo.truth import Truth
from events.models import Entry
from teams.models import Track

EVENING, AFTERNOON = time(17, 30), time(13, 0)
APART = timedelta(minutes=28)
# What is read again after a hit, how much it is off there, and how it is written.
READ_AGAIN: dict[str, tuple[Kind, str, Style]] = {
    "weight": (Kind.MASS, "0.8 lb", "decimal"),
    "ride-height": (Kind.LENGTH, "-1/16 in", "fraction"),
}


class Seasons:
    """Drives the cars of the demo; `today` is the first day of the meeting under way."""

    def __init__(
        self, cast: Cast, truth: Truth, today: date, zone: ZoneInfo, tracks: Sequence[Track]
    ) -> None:
        self.cast, self.truth, self.today, self.zone = cast, truth, today, zone
        self.tracks = {track.surface: track for track in reversed(tracks)}

    def drive(self, runner: Runner, crew: str) -> None:
        """All days of a car whose sheets are there and whose meetings were held."""
        with self.cast.acting(runner.chief):
            days = self._days(runner, crew)
        self._turn(days)
        with self.cast.acting(runner.chief):
            states = self._states(days)
        self._run(days, states)
        with self.cast.acting(runner.chief):
            keep_figures(runner.car.pk)

    def _days(self, runner: Runner, crew: str) -> list[NotedDay]:
        rows = Sheet.objects.filter(car=runner.car, role=Sheet.Role.SET)
        joined = ("car__chassis", "team__club", "baseline__chassis", "driver", "track")
        sheets = list(rows.select_related(*joined))
        sheets.sort(key=lambda sheet: sheet.made_on)
        entries = {
            entry.event.starts_on: entry
            for entry in Entry.objects.filter(car=runner.car).select_related("event")
        }
        days = Driving(self.truth, self.truth.cars[runner.car.number]).seasons()
        return [
            NotedDay(
                day=day,
                runner=runner,
                sheet=sheets[day.weekend],
                track=self.tracks[day.surface],
                by=self.cast[crew if day.by_crew else runner.chief],
                clock=self._clock(day),
                entry=entries.get(self.today - timedelta(days=day.ago)),
            )
            for day in days
        ]

    def _clock(self, day: DemoDay) -> DayClock:
        """An evening, or the afternoon of a race; what is of today has happened by now."""
        if day.ago:
            on = self.today - timedelta(days=day.ago)
            start = datetime.combine(on, AFTERNOON if day.is_race else EVENING, self.zone)
            return DayClock(start, APART)
        now = timezone.now()
        midnight = datetime.combine(self.today, time(), self.zone)
        runs = len(day.runs)
        apart = min(APART, (now - midnight) / (runs + 1))
        return DayClock(now - apart * (runs - 0.5), apart)

    def _turn(self, days: Sequence[NotedDay]) -> None:
        """What was changed, of all days: a change may put another person's back."""
        made: dict[int, dict[int, TrackChange]] = defaultdict(dict)
        written = self._rows(days)
        for noted in days:
            add_changes(written[noted.by.pk], noted, made[noted.day.weekend])
        self._write(days, written)

    def _run(self, days: Sequence[NotedDay], states: Mapping[tuple[int, int], Any]) -> None:
        written = self._rows(days)
        for noted in days:
            rows = written[noted.by.pk]
            weather: Weather | None = None
            if noted.day.by_crew or not noted.day.ago:
                weather = add_weather(rows, noted)
            for run in noted.day.runs:
                add_run(rows, noted, run, states[noted.day.ago, run.order], weather)
        self._write(days, written)

    def _rows(self, days: Sequence[NotedDay]) -> dict[Any, Rows]:
        return {noted.by.pk: Rows() for noted in days}

    def _write(self, days: Sequence[NotedDay], written: dict[Any, Rows]) -> None:
        for key in dict.fromkeys(self.cast.key_of(noted.by) for noted in days):
            with self.cast.acting(key) as by:
                written[by.pk].write()

    def _states(self, days: Sequence[NotedDay]) -> dict[tuple[int, int], Any]:
        """The car as it stood at each run: computed once for each way it stood."""
        states: dict[tuple[int, int], Any] = {}
        state: dict[str, Any] = {}
        table: TurnTable | None = None
        for noted in days:
            day, sheet = noted.day, noted.sheet
            if table is None or table.on_sheet.sheet.pk != sheet.pk:
                table = turn_table(sheet, self.cast[noted.runner.chief])
            moved = {turned.before for turned in day.turned} | {1, day.weighed_before}
            for run in day.runs:
                if run.order == day.weighed_before:
                    self._weigh_again(noted, table)
                if run.order in moved:
                    state = self._car(noted, table, noted.clock.run(run.order)).state
                states[day.ago, run.order] = state
        return states

    def _car(self, noted: NotedDay, table: TurnTable, at: datetime) -> CarNow:
        by = self.cast[noted.runner.chief]
        return car_on(noted.sheet, by, until=at, table=table)

    def _weigh_again(self, noted: NotedDay, table: TurnTable) -> None:
        """After a hit: weights and heights, of which those where it was hit are others."""
        at = noted.clock.run(noted.day.weighed_before or 1) - noted.clock.apart / 4
        now = self._car(noted, table, at)
        hit = next(run.spots for run in noted.day.runs if run.damage)
        read: dict[Key, Typed] = {}
        for corner in CORNER_NAMES:
            for measure, (kind, moved, style) in READ_AGAIN.items():
                figure = now.figure(Key(measure, corner))
                if figure is not None:
                    off = parse(moved, kind).value if corner in hit else 0
                    unit = moved.split()[-1]
                    shown = show(figure.value + off, kind, unit=unit, style=style, places=1)
                    read[Key(measure, corner)] = parse(shown.text, kind)
        if read:
            with self.cast.acting(noted.runner.chief) as by:
                take_track_readings(by=by, sheet=noted.sheet, readings=read, taken_at=at)
