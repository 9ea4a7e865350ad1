"""A season on a page: nights, tracks, laps and finishes, of a car or of a driver."""

from collections import Counter, defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from functools import cache
from uuid import UUID

from django.urls import reverse
from django.utils.html import format_html_join
from django.utils.safestring import SafeString

from cars.figures.formatting import format_value
from cars.figures.prediction_format import as_decimal
from cars.history.queries.laps_by_track import Night
from cars.runs.presenters.track import format_density_altitude, format_lap
from clubsetup.clock.writing import day
from clubsetup.plots.over_time import MONTHS, DayPoint, over_time
from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.units import Units
from teams.models import Surface

_ANY = UUID(int=0)


@dataclass(frozen=True, slots=True)
class NightShown:
    """One evening at a track."""

    day: str
    runs: str
    middle: str
    finishes: str
    weather: str
    density_altitude: str
    url: str
    links: SafeString


@dataclass(frozen=True, slots=True)
class TrackShown:
    """The nights at a track on a surface, with the plot of their medians."""

    slug: str
    name: str
    nights: list[NightShown]
    svg: SafeString


@dataclass(frozen=True, slots=True)
class SeasonShown:
    """What a season came to."""

    sums: list[tuple[str, str]]
    tracks: list[TrackShown]


def show_season(
    nights: Sequence[Night], units: Units, *, shown: tuple[float, float] | None = None
) -> SeasonShown:
    """Of one season or of all."""
    years = {night.day.year for night in nights}
    by_track: dict[tuple[str, str], list[Night]] = defaultdict(list)
    for night in nights:
        by_track[night.track, night.surface].append(night)
    return SeasonShown(
        sums=list(_sums(nights)),
        tracks=[
            TrackShown(
                f"t{place}",
                _place(*at),
                [_night(night, units, with_year=len(years) > 1) for night in same[::-1]],
                _plot(_place(*at), same, shown),
            )
            for place, (at, same) in enumerate(by_track.items(), 1)
        ],
    )


def _place(track: str, surface: str) -> str:
    name = Surface(surface).label.lower()
    return f"{track}, {name}" if track else f"no track noted, {name}"


def _sums(nights: Sequence[Night]) -> Iterator[tuple[str, str]]:
    runs = sum(len(night.runs) for night in nights)
    yield "Nights", str(len({night.day for night in nights}))
    yield "Runs", str(runs)
    yield "Laps", str(sum(night.laps for night in nights))
    finishes = [finish for night in nights for finish in night.finishes]
    for kind in ("main", "heat"):
        places = Counter(place for name, place in finishes if name == kind)
        if places:
            best = min(places)
            times = f", {places[best]} times" if places[best] > 1 else ""
            yield f"Best {kind}", f"{best}{times} of {sum(places.values())}"


def _night(night: Night, units: Units, *, with_year: bool) -> NightShown:
    runs, timed = len(night.runs), night.timed
    weather = ""
    if night.temperature is not None:
        unit = units.for_kind(Kind.TEMPERATURE)
        weather = format_value(night.temperature, Kind.TEMPERATURE, unit).removeprefix("about ")
    return NightShown(
        day=day(night.day) if with_year else f"{night.day.day} {MONTHS[night.day.month - 1]}",
        runs=f"{runs}" if timed == runs else f"{runs}, {timed} timed",
        middle=_lap(night.middle),
        finishes=", ".join(f"{kind} {place}" for kind, place in night.finishes),
        weather=weather,
        density_altitude=_altitude(night, units),
        url=_run_url(night.shown_by.pk),
        links=format_html_join(
            " ",
            '<a href="{}" aria-label="Run {}, {}">{}</a>',
            (
                (_run_url(run.pk), place, day(night.day), place)
                for place, run in enumerate(night.runs, 1)
            ),
        ),
    )


def _plot(name: str, nights: Sequence[Night], shown: tuple[float, float] | None) -> SafeString:
    """Two nights at least: one point says no more than its figure."""
    points = [
        DayPoint(
            night.day,
            middle,
            is_set=True,
            goes_to=_run_url(night.shown_by.pk),
            name=f"{day(night.day)}: {_lap(middle)} s",
        )
        for night in nights
        if (middle := night.middle) is not None
    ]
    if len(points) < 2:  # a plot of one point
        return SafeString("")
    days: tuple[date, date] = (points[0].day, points[-1].day)
    words = f"Median laps at {name}, {len(points)} nights: see the table"
    return SafeString(over_time(points, days=days, name=words, shown=shown))


def _altitude(night: Night, units: Units) -> str:
    """Of the air, as a run's page says it; empty where no weather was noted."""
    altitude = night.density_altitude
    return "" if altitude is None else format_density_altitude(altitude, units)


def _run_url(run: UUID) -> str:
    return _run_address().replace(str(_ANY), str(run))


@cache
def _run_address() -> str:
    """Resolved once: a driver's seasons lead to thousands of runs."""
    return reverse("run", args=[_ANY])


def _lap(seconds: float | None) -> str:
    """As runs write it; empty where nothing was timed."""
    return format_lap(None if seconds is None else as_decimal(seconds))
