"""What the rows of an import say: runs with their laps, or sheets; and every problem by its place.

The same reading is shown before it is confirmed and made after.
"""

from collections.abc import Callable, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from typing import Any
from uuid import UUID

from cars.catalogue.keys import Key
from cars.catalogue.queries import cached_catalogue
from cars.exchange.queries import import_cells as cells
from cars.exchange.queries import import_places as p
from cars.exchange.queries.import_letters import column_name
from cars.figures.box_entries import BoxEntry, read_entry
from cars.figures.lap_entry import LapsRefusedError, read_laps
from cars.models import Car, Import, Run, RunDetails, Sheet
from clubsetup.access.models import User
from clubsetup.quantities import bounds
from clubsetup.quantities.errors import QuantityError, quoted
from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.reading import Typed, parse
from clubsetup.quantities.spelling import has_unit
from clubsetup.quantities.units import Units
from teams.models import Driver, Surface, Track
from teams.queries.clocks import today_of, zone_of

MOST_PROBLEMS = 2_000
WHOLE_ROW = -1
NOON = time(12)
ROLES = {Import.Kind.FOUND: Sheet.Role.FOUND, Import.Kind.SET: Sheet.Role.SET}


@dataclass(frozen=True, slots=True)
class Problem:
    """What cannot be read, and where: the row in the file, the column from 0 or WHOLE_ROW."""

    row: int
    column: int
    message: str


@dataclass(slots=True)
class RowRead:
    """One run or sheet. Of several rows of one run the number of the first."""

    number: int
    car: Car
    when: date
    clock: time | None = None
    facts: dict[str, Any] = field(default_factory=dict)
    lap_cells: list[str] = field(default_factory=list)
    laps: list[Decimal] = field(default_factory=list)
    entries: list[BoxEntry] = field(default_factory=list)
    ran_at: datetime | None = None
    timed_by: str = ""


@dataclass(slots=True)
class ImportRead:
    """All that a file says, and what is wrong with it."""

    header: Sequence[str]
    examples: Sequence[tuple[int, list[str]]]
    columns: Sequence[str]
    made: list[RowRead] = field(default_factory=list)
    problems: list[Problem] = field(default_factory=list)
    without_time: int = 0


class _Unread(Exception):
    """This row is not read further; its problem is noted."""


def split_header(
    row: Import, places: Mapping[str, p.Place]
) -> tuple[list[str], list[tuple[int, list[str]]], int]:
    """The header, the rows below it, and the number of its row in the file (0 where none)."""
    rows = [(number, list(texts)) for number, texts in row.cells]
    at = p.header_row(rows, places)
    if at == p.NO_HEADER:
        return [], rows, 0
    return rows[at - 1][1], rows[at:], rows[at - 1][0]


def places_of(row: Import) -> dict[str, p.Place]:
    """The places its columns may be for."""
    return p.places_for(row.kind, cached_catalogue().measures.values())


def known_of(row: Import) -> p.Known:
    """What its team's cells may name, in lower case."""
    names = _Names(row)
    return p.Known(*(frozenset(each) for each in (names.cars, names.drivers, names.tracks)))


def read_import(row: Import, by: User) -> ImportRead:
    """Reads all rows by the columns chosen."""
    return _Reader(row, by).read()


class _Names:
    """What the team's cells name, by their names in lower case; two of one name are None."""

    def __init__(self, row: Import) -> None:
        self.cars: dict[str, Car | None] = {}
        self.drivers: dict[str, Driver | None] = {}
        self.tracks: dict[str, Track | None] = {}
        cars = list(Car.objects.filter(team=row.team_id).select_related("chassis", "baseline"))
        for car in cars:
            self._add(self.cars, car.name, car)
            self._add(self.cars, str(car), car)
        for car in cars:  # a number is one car's alone
            self.cars[car.number.casefold()] = car
        for driver in Driver.objects.filter(team=row.team_id):
            self._add(self.drivers, driver.display_name, driver)
        for track in Track.objects.filter(club=row.team.club_id):
            self._add(self.tracks, track.name, track)
        self.only_car = cars[0] if len(cars) == 1 else None

    @staticmethod
    def _add(known: dict[str, Any], name: str, thing: Any) -> None:
        name = name.casefold()
        if name:
            known[name] = None if name in known and known[name] != thing else thing


class _Reader:
    def __init__(self, row: Import, by: User) -> None:
        self.row, self.by = row, by
        self.places = places_of(row)
        self.header, self.rows, self.header_at = split_header(row, self.places)
        self.columns: list[str] = list(row.columns)
        self.result = ImportRead(self.header, self.rows[:3], self.columns)
        self.names = _Names(row)
        self.units: Units = by.units(row.team.club.units())
        self.zone, self.today = zone_of(by), today_of(by)
        self.measures = cached_catalogue().measures
        self.column_units = [p.name_and_unit(title)[1] for title in self.header]
        self.number, self.given = 0, dict[str, list[tuple[int, str]]]()
        self.slashed = self._slashed()

    def read(self) -> ImportRead:
        """All of it."""
        self._check_columns()
        flawed = self._flaws()
        read = self._run_row if self.row.kind == Import.Kind.RUNS else self._sheet_row
        for number, texts in self.rows:
            if number in flawed:
                continue
            self.number, self.given = number, self._given(texts)
            with suppress(_Unread):
                read()
            if len(self.result.problems) >= MOST_PROBLEMS:
                message = "More problems are told when these are mended."
                self.result.problems.append(Problem(number, WHOLE_ROW, message))
                break
        if self.row.kind == Import.Kind.RUNS:
            self._finish_runs()
        elif not self.result.made and not self.result.problems:
            self._problem(WHOLE_ROW, "No row below the header holds anything.")
        self.result.problems.sort(key=lambda each: (each.row, each.column))
        return self.result

    def _slashed(self) -> str:
        for column, name in enumerate(self.columns):
            if name == p.MONTH_FIRST:
                return "month"
            if name == p.DAY_FIRST:
                return "day"
            if name == p.DATE:
                texts = (row[column] for _, row in self.rows if column < len(row))
                return cells.slashes_are(texts)
        return ""

    def _problem(self, column: int, message: str) -> None:
        self.result.problems.append(Problem(self.number, column, message))

    def _check_columns(self) -> None:
        self.number = self.header_at
        seen: dict[str, int] = {}
        for column, name in enumerate(self.columns):
            if not name or self.places[name].many:
                continue
            one = p.DATE if name in p.DATES else name
            if one in seen:
                other, label = column_name(seen[one]), self.places[name].label.lower()
                self._problem(column, f"Column {other} is for the {label} too. Leave one out.")
            seen.setdefault(one, column)
        if p.DATE not in seen:
            self._problem(WHOLE_ROW, "Choose the column that says the date.")
        if p.CAR not in seen and self.names.only_car is None:
            self._problem(WHOLE_ROW, "Choose the column that says which car it is.")
        self._check_units()

    def _check_units(self) -> None:
        for column, unit in enumerate(self.column_units):
            name = self.columns[column] if column < len(self.columns) else ""
            kind = self.places[name].kind if name else None
            if not unit or kind is None:
                continue
            try:
                parse(f"1 {unit}", kind, units=self.units)
            except QuantityError as refused:
                self._problem(column, refused.message)
                self.column_units[column] = ""  # told once, and not in each cell

    def _flaws(self) -> set[int]:
        """Tells what the file's reader noted of cells that are used; the rows not to be read."""
        first = self.header_at or (self.rows[0][0] if self.rows else 0)
        flawed = set()
        for number, column, message in self.row.flaws:
            used = column < len(self.columns) and self.columns[column]
            if number >= first and (used or "merged" in message):
                self.number = number
                self._problem(column, message)
                flawed.add(number)
        return flawed

    def _given(self, texts: Sequence[str]) -> dict[str, list[tuple[int, str]]]:
        given: dict[str, list[tuple[int, str]]] = {}
        for column, name in enumerate(self.columns):
            if name and column < len(texts) and texts[column]:
                given.setdefault(name, []).append((column, texts[column]))
        return given

    def _one(self, name: str, read: Callable[[str], Any], otherwise: Any = None) -> Any:
        """What the cell says; its problem is noted, and the next cell is read all the same."""
        for column, text in self.given.get(name, ()):
            try:
                return read(text)
            except (ValueError, QuantityError) as refused:
                self._problem(column, getattr(refused, "message", str(refused)))
                return otherwise
        return otherwise

    def _named(self, known: Mapping[str, Any], what: str, instead: str) -> Callable[[str], Any]:
        def read(text: str) -> Any:
            name = text.casefold()
            if name not in known and text.endswith(".0"):
                name = name.removesuffix(".0")
            if name not in known:
                raise ValueError(f"No {what} is called {quoted(text)}. {instead}")
            if known[name] is None:
                raise ValueError(f"Two {what}s are called {quoted(text)}. Leave this cell empty.")
            return known[name]

        return read

    def _car(self) -> Car:
        own = f"Add it to {self.row.team} first, or mend the cell."
        car = self._one(p.CAR, self._named(self.names.cars, "car", own))
        if p.CAR not in self.given:
            car = self.names.only_car
            if car is None and p.CAR in self.columns:
                self._problem(self.columns.index(p.CAR), "Say which car it is.")
        if car is None:
            raise _Unread
        found: Car = car
        return found

    def _when(self) -> tuple[date, time | None]:
        name = next((each for each in p.DATES if each in self.columns), None)
        if name is None:
            raise _Unread
        if name not in self.given:
            self._problem(self.columns.index(name), "Say the date.")
            raise _Unread
        read = self._one(name, lambda text: cells.date_in(text, self.slashed))
        if read is None:
            raise _Unread
        if read[0] > self.today:
            self._problem(self.columns.index(name), "This day is still to come.")
            raise _Unread
        found: tuple[date, time | None] = read
        return found

    def _head(self) -> tuple[Car, date, time | None, dict[str, Any]]:
        problems = len(self.result.problems)
        facts: dict[str, Any] = {
            "driver": self._one(
                p.DRIVER, self._named(self.names.drivers, "driver", "Add the driver first.")
            ),
            "track": self._one(
                p.TRACK, self._named(self.names.tracks, "track", "Leave the cell empty.")
            ),
            "surface": self._one(
                p.SURFACE, lambda text: cells.one_of(text, Surface.choices, "surface"), ""
            ),
            "fuel": self._one(p.FUEL, self._fuel),
            "note": self._one(p.NOTE, str, ""),
        }
        car: Car | None = None
        moment: tuple[date, time | None] | None = None
        with suppress(_Unread):
            car = self._car()
            self._settle_surface(car, facts)
        with suppress(_Unread):
            moment = self._when()
        if car is None or moment is None or len(self.result.problems) > problems:
            self._rest(facts)
            raise _Unread
        return car, *moment, facts

    def _rest(self, facts: dict[str, Any]) -> None:
        """The problems of the other cells of a row that has one already."""
        if self.row.kind == Import.Kind.RUNS:
            self._one(p.TIME, cells.time_in)
            self._of_run(facts)
        else:
            self._entries()

    def _settle_surface(self, car: Car, facts: dict[str, Any]) -> None:
        track, baseline = facts["track"], car.baseline
        facts["surface"] = facts["surface"] or (track.surface if track else "")
        facts["surface"] = facts["surface"] or (baseline.surface if baseline else "")
        if not facts["surface"] and p.SURFACE not in self.given:
            self._problem(WHOLE_ROW, "Say the surface, paved or dirt, or the track.")

    def _fuel(self, text: str) -> Typed:
        column = self.given[p.FUEL][0][0]
        with_unit = self._with_unit(column, text)
        return parse(with_unit, Kind.VOLUME, units=self.units, limits=bounds.FUEL)

    def _with_unit(self, column: int, text: str) -> str:
        """The cell, in the unit that its header says where it says none itself."""
        unit = self.column_units[column] if column < len(self.column_units) else ""
        return f"{text} {unit}" if unit and not has_unit(text) else text

    def _of_run(self, facts: dict[str, Any]) -> None:
        facts["kind"] = self._one(
            p.RUN_KIND,
            lambda text: cells.one_of(text, RunDetails.Kind.choices, "kind of run"),
            RunDetails.Kind.PRACTICE,
        )
        facts["surface_state"] = self._one(
            p.SURFACE_STATE,
            lambda text: cells.one_of(text, RunDetails.SurfaceState.choices, "way a track is"),
            "",
        )
        facts["finish"] = self._one(p.FINISH, _finish)
        self._one(p.TIMED_BY, _timed_by)
        if facts["finish"] and facts["kind"] == RunDetails.Kind.PRACTICE:
            column = self.given[p.FINISH][0][0]
            self._problem(column, "Nobody finishes a practice. Say that it was a heat or the main.")
        for column, text in self.given.get(p.LAPS, ()):
            try:
                read_laps(cells.lap_text(text))
            except LapsRefusedError as refused:
                self._problem(column, " ".join(refused.problems).replace("Row 1: ", ""))

    def _run_row(self) -> None:
        problems = len(self.result.problems)
        car, when, clock, facts = self._head()
        clock = self._one(p.TIME, cells.time_in, clock)
        self._of_run(facts)
        if len(self.result.problems) > problems:
            raise _Unread
        laps = [cells.lap_text(text) for _, text in self.given.get(p.LAPS, ())]
        made = RowRead(self.number, car, when, clock, facts, laps)
        made.timed_by = self._one(p.TIMED_BY, _timed_by, self.row.timed_by)
        run = self._one(p.RUN, str)
        self._add_run(made, run)

    def _add_run(self, made: RowRead, run: str | None) -> None:
        """Rows of one car, day, time and number of the run are one run: a row may be a lap."""
        key = (made.car.pk, made.when, made.clock, run) if made.clock or run else None
        first = self._runs.get(key) if key else None
        if first is None:
            self.result.made.append(made)
            if key:
                self._runs[key] = made
            return
        named = {p.RUN_KIND: "kind", p.DRIVER: "driver", p.TRACK: "track", p.FINISH: "finish"}
        for place, name in named.items():
            if place in self.given and made.facts[name] != first.facts[name]:
                message = f"Row {first.number} says otherwise of the same run."
                self._problem(self.given[place][0][0], message)
        if made.lap_cells and first.lap_cells and made.timed_by != first.timed_by:
            column = self.given.get(p.TIMED_BY, [(WHOLE_ROW, "")])[0][0]
            message = f"Row {first.number} says otherwise of the laps of the same run."
            self._problem(column, message)
        first.timed_by = first.timed_by if first.lap_cells else made.timed_by
        first.lap_cells += made.lap_cells

    @property
    def _runs(self) -> dict[Any, RowRead]:
        if not hasattr(self, "_known_runs"):
            self._known_runs: dict[Any, RowRead] = {}
        return self._known_runs

    def _finish_runs(self) -> None:
        """Times where none were given, laps as a whole, and what is noted already."""
        minutes: dict[tuple[UUID, date], int] = {}
        for made in self.result.made:
            self.number = made.number
            clock = made.clock
            if clock is None:
                self.result.without_time += 1
                day = (made.car.pk, made.when)
                minutes[day] = minutes.get(day, -1) + 1
                clock = (datetime.combine(made.when, NOON) + timedelta(minutes=minutes[day])).time()
            made.ran_at = cells.moment_of(made.when, clock, self.zone)
            try:
                made.laps = read_laps("\n".join(made.lap_cells))
            except LapsRefusedError as refused:
                self._problem(WHOLE_ROW, " ".join(refused.problems))
        self._refuse_noted()
        if not self.result.made and not self.result.problems:
            self._problem(WHOLE_ROW, "No row below the header holds a run.")

    def _refuse_noted(self) -> None:
        timed = [made for made in self.result.made if made.clock and made.ran_at]
        if not timed:
            return
        whens = [made.ran_at for made in timed if made.ran_at]
        rows = Run.objects.current().filter(
            car__in={made.car.pk for made in timed}, ran_at__in=whens
        )
        noted = set(rows.order_by().values_list("car_id", "ran_at"))
        for made in timed:
            if (made.car.pk, made.ran_at) in noted:
                self.number = made.number
                message = f"A run of car {made.car} at this time is noted already."
                self._problem(WHOLE_ROW, message)

    def _sheet_row(self) -> None:
        problems = len(self.result.problems)
        car, when, _, facts = self._head()
        facts["role"] = self._one(
            p.ROLE,
            lambda text: cells.one_of(text, Sheet.Role.choices, "kind of sheet"),
            ROLES[Import.Kind(self.row.kind)],
        )
        entries = self._entries()
        if len(self.result.problems) > problems:
            raise _Unread
        if not entries:
            self._problem(WHOLE_ROW, "No figure stands in this row.")
            raise _Unread
        self.result.made.append(RowRead(self.number, car, when, None, facts, entries=entries))

    def _entries(self) -> list[BoxEntry]:
        entries = []
        for name, found in self.given.items():
            if "." not in name:
                continue
            key = Key.of(name)
            measure = self.measures[key.measure]
            column, text = found[0]
            try:
                if measure.kind:
                    text = self._figure(column, text)
                entries.append(read_entry(measure, key, text, self.units))
            except QuantityError as refused:
                self._problem(column, refused.message)
        return entries

    def _figure(self, column: int, text: str) -> str:
        if text[:4].isdecimal() and text[4:5] == "-" and len(text) >= 10:
            raise QuantityError(
                "A date: a spreadsheet makes one of 5/16 and the like. Show the cells as text and "
                "write the figure again.",
                text,
            )
        return self._with_unit(column, text)


def _timed_by(text: str) -> str:
    if text.casefold() not in p.TIMINGS:
        raise ValueError(f"{quoted(text)} is nobody who times laps. Write transponder or by hand.")
    return p.TIMINGS[text.casefold()]


def _finish(text: str) -> int:
    place = text.removesuffix(".0").removesuffix(".")
    if not place.isdecimal() or not 1 <= int(place) <= 99:
        raise ValueError(f"{quoted(text)} is no finish. Write a number from 1 to 99.")
    return int(place)
