"""What a column of a file is for: by its header, by what the team chose before, or by example."""

import re
import unicodedata
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass

from cars.catalogue.keys import Key
from cars.models import Measure
from cars.models.catalogue import Spot, Taken
from cars.models.imports import Import
from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.spelling import normal
from clubsetup.quantities.table import UNITS

LEFT_OUT = ""
CAR, DATE, MONTH_FIRST, DAY_FIRST = "car", "date", "date-month-first", "date-day-first"
TIME, RUN, RUN_KIND, DRIVER, TRACK = "time", "run", "run-kind", "driver", "track"
SURFACE, SURFACE_STATE, FINISH, FUEL = "surface", "surface-state", "finish", "fuel"
NOTE, LAPS, LAP_NUMBER, ROLE = "note", "laps", "lap-number", "role"
TIMED_BY = "timed-by"
DATES = (DATE, MONTH_FIRST, DAY_FIRST)
MOST_EXAMPLES = 200  # rows that a column is told by
FITS = 0.8  # of the examples, where a column is told by them
HEADER_WITHIN = 10  # rows: titles stand above it
NO_HEADER = 0


@dataclass(frozen=True, slots=True)
class Place:
    """Where the cells of a column go."""

    name: str
    label: str
    headers: tuple[str, ...]  # by which it is known, in plain lower case
    kind: Kind | None = None  # of quantity
    many: bool = False  # several columns may be for it


@dataclass(frozen=True, slots=True)
class Known:
    """What a team's own cells may name."""

    cars: frozenset[str]
    drivers: frozenset[str]
    tracks: frozenset[str]


def plain(text: str) -> str:
    """Lower case without accents and signs, for what is told by its name."""
    flat = unicodedata.normalize("NFKD", text.casefold()).replace("ß", "ss")
    kept = "".join(char for char in flat if not unicodedata.combining(char))
    return " ".join(re.sub(r"[^\w#%]+|_", " ", kept).split())


_EVERY = (
    Place(CAR, "Car", ("car", "car number", "car no", "number", "no", "#", "car #")),
    Place(DATE, "Date", ("date", "day", "made on", "ran on")),
    Place(MONTH_FIRST, "Date, month first", ("date mm dd yyyy",)),
    Place(DAY_FIRST, "Date, day first", ("date dd mm yyyy",)),
    Place(DRIVER, "Driver", ("driver", "driver name")),
    Place(TRACK, "Track", ("track", "track name", "venue")),
    Place(SURFACE, "Surface", ("surface",)),
    Place(FUEL, "Fuel", ("fuel", "fuel on board"), Kind.VOLUME),
    Place(NOTE, "Note", ("note", "notes", "comment", "comments", "remark", "remarks")),
)
_OF_RUNS = (
    Place(TIME, "Time it went out", ("time", "time of day", "went out", "out at", "ran at")),
    Place(RUN, "Number of the run", ("run", "run number", "run no", "session", "run #")),
    Place(RUN_KIND, "Practice, heat or main", ("kind", "type", "run type", "kind of run")),
    Place(FINISH, "Finish", ("finish", "position", "pos", "finished")),
    Place(SURFACE_STATE, "How the track was", ("track was", "condition", "track condition")),
    Place(LAPS, "Lap times", ("laps", "lap", "lap time", "lap times", "time", "s"), many=True),
    Place(TIMED_BY, "Who timed the laps", ("timed by", "timing", "timed", "lap source")),
    Place(LAP_NUMBER, "Number of the lap", ("lap number", "lap no", "lap #", "lap")),
)
_OF_SHEETS = (Place(ROLE, "Found, set or target", ("role", "sheet", "found or set", "kind")),)
_SPOT_WORDS = {
    Spot.LF: ("lf", "left front", "front left", "fl"),
    Spot.RF: ("rf", "right front", "front right", "fr"),
    Spot.LR: ("lr", "left rear", "rear left", "rl"),
    Spot.RR: ("rr", "right rear", "rear right"),
}


def places_for(kind: str, measures: Iterable[Measure]) -> dict[str, Place]:
    """By name, in the order in which a page offers them."""
    if kind == Import.Kind.RUNS:
        return {place.name: place for place in (*_EVERY, *_OF_RUNS)}
    boxes = [_box(each, spot) for each in measures if _is_read(each) for spot in each.spots]
    return {place.name: place for place in (*_EVERY, *_OF_SHEETS, *boxes)}


def _is_read(measure: Measure) -> bool:
    return measure.taken != Taken.DERIVED


def _box(measure: Measure, spot: str) -> Place:
    name, known = plain(measure.name), plain(measure.slug)
    words = _SPOT_WORDS.get(Spot(spot), (spot,))
    headers = [f"{known} {spot.lower()}"]
    for word in words:
        headers += [f"{name} {word}", f"{word} {name}"]
    if len(measure.spots) == 1:
        headers.append(name)
    label = f"{measure.name} {spot}" if spot != Spot.CAR else measure.name
    kind = Kind(measure.kind) if measure.kind else None
    return Place(str(Key(measure.pk, spot)), label, tuple(headers), kind)


_IN_BRACKETS = re.compile(r"^(?P<name>.*?)\s*[(\[](?P<unit>[^()\[\]]+)[)\]]\s*$")
_AFTER_COMMA = re.compile(r"^(?P<name>.+?)(?:,\s*|\s+in\s+)(?P<unit>[^,]+?)\s*$")
_SPELLED = {
    normal(word): word
    for units in UNITS.values()
    for unit in units.values()
    for word in unit.spellings
}


def name_and_unit(header: str) -> tuple[str, str]:
    """'Ride height LF (mm)': the name, and the unit that its cells are in if it says one."""
    for pattern in (_IN_BRACKETS, _AFTER_COMMA):
        match = pattern.match(header)
        if match and normal(match["unit"]) in _SPELLED:
            return match["name"], match["unit"].strip()
    return header, ""


def header_row(rows: Sequence[tuple[int, list[str]]], places: Mapping[str, Place]) -> int:
    """The place in the list, from 1, of the row that names the columns; NO_HEADER where none."""
    known = {header for place in places.values() for header in place.headers}
    first = [cells for _, cells in rows[:HEADER_WITHIN]]
    named = [sum(plain(name_and_unit(cell)[0]) in known for cell in cells) for cells in first]
    most = max(named, default=0)
    # A car's number is no header, though one column may be called so.
    if most > 1 or (most == 1 and len(rows) > 1 and named[0] == 1):
        return named.index(most) + 1
    if first and not any(any(char.isdigit() for char in cell) for cell in first[0]):
        return 1
    return NO_HEADER


def columns_of(
    header: Sequence[str],
    rows: Sequence[tuple[int, list[str]]],
    places: Mapping[str, Place],
    remembered: Mapping[str, str],
    known: Known,
) -> list[str]:
    """Of each column the name of its place: remembered, by its header, or by example."""
    width = max((len(cells) for _, cells in rows), default=0)
    chosen: list[str] = []
    for column in range(max(width, len(header))):
        cells = (cells[column] for _, cells in rows[:MOST_EXAMPLES] if column < len(cells))
        examples = [cell for cell in cells if cell]
        title = header[column] if column < len(header) else ""
        taken = {name for name in chosen if name and not places[name].many}
        chosen.append(_place(title, examples, places, remembered, known, taken))
    return chosen


def _place(  # noqa: PLR0917 (what a column is told by)
    title: str,
    examples: Sequence[str],
    places: Mapping[str, Place],
    remembered: Mapping[str, str],
    known: Known,
    taken: set[str],
) -> str:
    name = plain(name_and_unit(title)[0])
    before = remembered.get(plain(title))
    if before is not None and (before in places or not before):
        return before
    named = [place.name for place in places.values() if _is_named(place, name)]
    fitting = [each for each in named if _fits(each, examples, known)]
    if named:
        return next((each for each in [*fitting, *named] if each not in taken), LEFT_OUT)
    if name:
        return LEFT_OUT
    by_example = [each for each in places if each in _TOLD and each not in taken]
    return next((each for each in by_example if _fits(each, examples, known)), LEFT_OUT)


def _is_named(place: Place, name: str) -> bool:
    if place.name == LAPS and re.fullmatch(r"(lap|l) ?\d{1,3}( time)?", name):
        return True
    return name in place.headers


_DATE = re.compile(r"\d{4}-\d{1,2}-\d{1,2}.*|\d{1,2}([./])\d{1,2}\1(\d{4}|\d{2})")
_CLOCK = re.compile(r"\d{1,2}:\d{2}(:\d{2})?( ?[ap]m)?", re.IGNORECASE)
_LAP = re.compile(r"(\d{1,2}:)*\d{1,3}[.,]\d{1,4}([ ;]+(\d{1,2}:)*\d{1,3}[.,]\d{1,4})*")
# How files say who timed the laps.
TIMINGS = {
    **dict.fromkeys(("transponder", "track", "the track's timing", "loop"), "transponder"),
    **dict.fromkeys(("hand", "by hand", "stopwatch", "watch", "manual"), "hand"),
}
_TOLD: dict[str, Callable[[str, Known], bool]] = {
    DATE: lambda cell, _: bool(_DATE.fullmatch(cell)),
    TIME: lambda cell, _: bool(_CLOCK.fullmatch(cell)),
    DRIVER: lambda cell, known: cell.casefold() in known.drivers,
    TRACK: lambda cell, known: cell.casefold() in known.tracks,
    RUN_KIND: lambda cell, _: cell.casefold() in ("practice", "heat", "main"),
    ROLE: lambda cell, _: cell.casefold() in ("found", "set", "target"),
    LAPS: lambda cell, _: bool(_LAP.fullmatch(cell)),
    CAR: lambda cell, known: cell.casefold() in known.cars,
    TIMED_BY: lambda cell, _: cell.casefold() in TIMINGS,
    LAP_NUMBER: lambda cell, _: cell.isdecimal() and len(cell) <= 3,
}


def _fits(place: str, examples: Sequence[str], known: Known) -> bool:
    told = _TOLD.get(place)
    if told is None:
        return True
    return bool(examples) and sum(told(each, known) for each in examples) >= FITS * len(examples)
