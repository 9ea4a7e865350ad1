"""How a car was set at a track before, in words and figures."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from cars.figures.formatting import format_value
from cars.history.queries.back_to_track import Fastest, Place, SetThere
from cars.mechanics.air import ISA_DENSITY
from cars.models import Feel, Sheet, Weather
from cars.runs.presenters.track import feel_words, format_lap
from cars.runs.queries.air import air_of
from clubsetup.clock.writing import day
from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.units import Units
from teams.models import Surface


@dataclass(frozen=True, slots=True)
class PlaceShown:
    """'Alder Hollow, paved', and what is asked with to go there."""

    place: Place
    name: str
    asks: str
    is_chosen: bool


@dataclass(frozen=True, slots=True)
class ThereShown:
    """A sheet as set there with what its runs came to."""

    sheet: Sheet
    name: str
    driver: str
    runs: str
    finishes: str
    middle: str
    best: str
    felt: str
    weather: str


def show_places(places: Sequence[Place], chosen: Place | None) -> list[PlaceShown]:
    """Each by its name."""
    return [
        PlaceShown(
            place,
            place_name(place),
            f"track={place.track.pk}&surface={place.surface}",
            is_chosen=place == chosen,
        )
        for place in places
    ]


def place_name(place: Place) -> str:
    """'Alder Hollow, paved'."""
    return f"{place.track}, {Surface(place.surface).label.lower()}"


def sheet_day(sheet: Sheet) -> str:
    """'as set 18 Nov 2026'; the place is told elsewhere."""
    version = f", version {sheet.version}" if sheet.version > 1 else ""
    return f"as set {day(sheet.made_on)}{version}"


def show_there(there: SetThere, units: Units) -> ThereShown:
    """One sheet's line."""
    count = len(there.runs)
    timed = len(there.timed)
    runs = f"{count} run{'' if count == 1 else 's'}" if count else "no run noted"
    return ThereShown(
        sheet=there.sheet,
        name=sheet_day(there.sheet),
        driver=str(there.sheet.driver or ""),
        runs=runs if timed in (0, count) else f"{runs}, {timed} timed",
        finishes=_finishes(there),
        middle=format_lap(there.middle),
        best=format_lap(there.best),
        felt=_felt(there),
        weather=weather_words(there.weather, units),
    )


def _finishes(there: SetThere) -> str:
    """'main 1, heat 3': the newest first."""
    return ", ".join(
        f"{run.details.get_kind_display().lower()} {run.details.finish}" for run in there.raced
    )


def _felt(there: SetThere) -> str:
    """What the driver said most often of these runs; of equals the newest."""
    said = [words for run in there.runs if (words := feel_words(run.feels.get(Feel.SaidBy.DRIVER)))]
    return Counter(said).most_common(1)[0][0] if said else ""


def weather_words(weather: Weather | None, units: Units) -> str:
    """'72 °F, air 95 % as dense as the standard'."""
    if weather is None:
        return ""
    unit = units.for_kind(Kind.TEMPERATURE)
    warm = format_value(weather.temperature, Kind.TEMPERATURE, unit).removeprefix("about ")
    dense = 100.0 * air_of(weather).density / ISA_DENSITY
    return f"{warm}, air {dense:.0f} % as dense as the standard"


def fastest_words(fastest: Fastest | None, there: Sequence[SetThere]) -> str:
    """The best is named only where it is shown faster; else what cannot be told, and why."""
    if fastest is None:
        timed = sum(bool(each.timed) for each in there)
        if not timed:
            return "None of these was timed: which was fastest cannot be told."
        return "One of these was timed, and nothing to hold it against."
    name = sheet_day(fastest.there.sheet)
    name = name[:1].upper() + name[1:]
    middle = format_lap(fastest.there.middle)
    if fastest.beside is None:
        return f"{name} is shown faster than every other sheet timed here: median {middle} s."
    other = sheet_day(fastest.beside.sheet)
    days = "" if fastest.is_same_day else "different days: "
    return f"{name} has the fastest median, {middle} s. Against {other}, {days}{fastest.verdict}."
