"""For the trailer: all that one car needs at its next event, on one sheet."""

from collections.abc import Sequence
from dataclasses import dataclass

from cars.figures.formatting import format_value
from cars.history.presenters.advice import AdviceLine, advice_lines
from cars.history.presenters.back_to_track import fastest_words, sheet_day
from cars.history.presenters.way_back import WayBackShown, show_way_back
from cars.history.queries.advice import standing_on
from cars.history.queries.back_to_track import A_PAGE, SetThere, fastest_of, sheets_at, with_runs
from cars.history.queries.way_back import way_back
from cars.lookups import find_sheet
from cars.models import BallastPiece, Car, Sheet
from cars.plans.queries.class_limits import class_limit
from cars.sheets.presenters.figure_table import Group, figure_table
from cars.sheets.presenters.sheet_view import sheet_view
from clubsetup.access.models import User
from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.units import Units
from events.models import Entry
from events.queries.ballast import pieces_on
from teams.models import Track

NEVER_THERE = "No closed sheet as set says how this car stood there before."


@dataclass(frozen=True, slots=True)
class TrailerSheet:
    """The entry with the way back to how its car was set at that track."""

    entry: Entry
    car: Car
    track: Track
    limits: str
    chosen: str  # which sheet is gone back to, and why this one
    way: WayBackShown | None
    groups: list[Group]  # every figure of that sheet, a line a measure
    pieces: Sequence[BallastPiece]
    advice: Sequence[AdviceLine]


def trailer_sheet(entry: Entry, viewer: User) -> TrailerSheet:
    """For the viewer. Back to the sheet that is shown faster, else to the newest."""
    joined = ("team__club", "chassis__club", "race_class", "baseline__chassis")
    car = Car.objects.select_related(*joined).get(pk=entry.car_id)
    units = viewer.units(car.team.club.units())
    track = entry.event.track
    there = with_runs(car, list(sheets_at(car, track, track.surface)[:A_PAGE]))
    sheet, chosen = _chosen(car, there)
    way = show_way_back(way_back(car, sheet, viewer), units) if sheet else None
    return TrailerSheet(
        entry=entry,
        car=car,
        track=track,
        limits=_limits(car, units),
        chosen=chosen,
        way=way,
        groups=_figures(sheet, viewer) if sheet else [],
        pieces=list(pieces_on(entry)),
        advice=advice_lines(standing_on(car.pk, car.team_id), viewer),
    )


def _figures(sheet: Sheet, viewer: User) -> list[Group]:
    return figure_table(sheet_view(find_sheet(sheet.pk) or sheet, viewer))


def _chosen(car: Car, there: Sequence[SetThere]) -> tuple[Sheet | None, str]:
    if not there:
        return None, NEVER_THERE
    fastest = fastest_of(car, there)
    words = fastest_words(fastest, there)
    if fastest is not None and fastest.beside is None:
        return fastest.there.sheet, words
    newest = there[0].sheet
    return newest, f"{words} Below: back to the newest, {sheet_day(newest)}."


def _limits(car: Car, units: Units) -> str:
    """'At least 270 lb, no piece above 15 lb. The minimum is that of Starter, rules 1.'"""
    limit = class_limit(car)
    if limit is None:
        return ""
    parts = [
        f"{words} {format_value(mass, Kind.MASS, units.mass).removeprefix('about ')}"
        for mass, words in ((limit.minimum, "at least"), (limit.largest_piece, "no piece above"))
        if mass is not None
    ]
    text = ", ".join(parts)
    return f"{text[:1].upper()}{text[1:]}. {limit.words}" if text else limit.words
