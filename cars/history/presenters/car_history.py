"""A car over its seasons as somebody sees it: plots, what happened, and the same as a table."""

from bisect import bisect_right
from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from statistics import median
from uuid import UUID

from django.urls import reverse
from django.utils.safestring import SafeString

from cars.catalogue.adjusters import ADJUSTERS
from cars.catalogue.keys import Key
from cars.catalogue.queries import cached_catalogue
from cars.figures.formatting import (
    format_adjustment,
    format_amount,
    format_change,
    format_figure,
)
from cars.figures.prediction_format import as_decimal
from cars.history.presenters.comparison import box_name, unit_suffix
from cars.history.queries.car_history import Aim, CarHistory, DaySheet, Happened
from cars.models import Measure, TrackChange
from clubsetup.access.errors import NoSuchPage
from clubsetup.clock.writing import day
from clubsetup.plots.over_time import DayBand, DayMark, DayPoint, over_time
from clubsetup.quantities.kinds import Kind, Unit
from clubsetup.quantities.table import unit_of
from clubsetup.quantities.units import Units
from clubsetup.site.list_pages import BEFORE
from teams.models import Surface

# More sheets as set than these would hide each other: then a point stands for a month.
MOST_POINTS = 120
MOST_ROWS = 20
LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
AS_FOUND_AND_SET = "Open ring: as found. Full dot: as set. Shaded: the target at that time."
BY_MONTH = (
    "A point stands for a month: the middle of its sheets, the line from the lowest to the "
    "highest. Open ring: as found. Full dot: as set. Shaded: the target at that time."
)


@dataclass(frozen=True, slots=True)
class PlotShown:
    """One measure's plot; empty where no sheet has it."""

    name: str
    unit: str
    svg: SafeString


@dataclass(frozen=True, slots=True)
class MarkShown:
    """'B', '7 Apr 2026: spring RF B07, was A12'; without letter it stands in the table alone."""

    day: date
    letter: str
    says: str
    url: str


@dataclass(frozen=True, slots=True)
class CellShown:
    """A figure of one sheet; `off` is 'high' or 'low' where it was off its target of that time."""

    text: str
    off: str = ""


@dataclass(frozen=True, slots=True)
class RowShown:
    """A sheet's line of the table."""

    pk: UUID
    name: str
    place: str
    url: str
    cells: list[CellShown]
    changes: str
    marks: list[MarkShown]


@dataclass(frozen=True, slots=True)
class HistoryShown:
    """Plots, marks and table in the reader's units."""

    plots: list[PlotShown]
    marks: list[MarkShown]
    more_marks: int
    names: list[str]
    rows: list[RowShown]
    older: UUID | None
    lead: str


class SheetLink:
    """The addresses of many sheets, resolved once."""

    _NIL = UUID(int=0)

    def __init__(self) -> None:
        self._before, _, self._after = reverse("sheet", args=[self._NIL]).partition(str(self._NIL))

    def to(self, sheet: UUID) -> str:
        """Of one sheet."""
        return f"{self._before}{sheet}{self._after}"


def show_history(
    history: CarHistory,
    units: Units,
    *,
    before: UUID | None = None,
    shown: tuple[float, float] | None = None,
) -> HistoryShown:
    """Of the table a page, the newest first, after the sheet `before`; `shown` is for paper."""
    marks = _marks(history, units)
    marked = [mark for mark in marks if mark.letter]
    rows, older = _page(history.sheets[::-1], before)
    since = _by_sheet(history.sheets, marks)
    known = cached_catalogue()
    measures = [known.measures[key.measure] for key in history.keys]
    count = sum(sheet.is_set for sheet in history.sheets)
    by_month = count > MOST_POINTS
    return HistoryShown(
        plots=[
            _plot(history, place, units, marked, by_month=by_month, shown=shown)
            for place in range(len(history.keys))
        ],
        marks=marked,
        more_marks=len(marks) - len(marked),
        names=[box_name(m, key.spot) for m, key in zip(measures, history.keys, strict=True)],
        rows=[_row(history, sheet, measures, units, since[sheet.pk]) for sheet in rows],
        older=older,
        lead=_lead(history, count, by_month=by_month),
    )


def _page(
    sheets: Sequence[DaySheet], before: UUID | None
) -> tuple[Sequence[DaySheet], UUID | None]:
    places = {sheet.pk: place for place, sheet in enumerate(sheets)}
    if before is not None and before not in places:
        raise NoSuchPage(BEFORE)
    begin = 0 if before is None else places[before] + 1
    rows = sheets[begin : begin + MOST_ROWS]
    return rows, rows[-1].pk if begin + MOST_ROWS < len(sheets) else None


def _lead(history: CarHistory, count: int, *, by_month: bool) -> str:
    sheets = len(history.sheets)
    if not sheets:
        return ""
    return (
        f"{sheets} closed sheet{'' if sheets == 1 else 's'}, {count} as set. "
        f"{BY_MONTH if by_month else AS_FOUND_AND_SET}"
    )


def _plot(
    history: CarHistory,
    place: int,
    units: Units,
    marked: Sequence[MarkShown],
    *,
    by_month: bool,
    shown: tuple[float, float] | None,
) -> PlotShown:
    key = history.keys[place]
    measure = cached_catalogue().measures[key.measure]
    unit = unit_of(Kind(measure.kind), units.for_kind(Kind(measure.kind)))
    name = box_name(measure, key.spot)
    if by_month:
        drawn = list(_months(history, place, unit))
    else:
        drawn = list(_points(history, place, measure, unit, units))
    if not drawn:
        return PlotShown(name, unit_suffix(measure, units), SafeString(""))
    count = sum(sheet.values[place] is not None for sheet in history.sheets)
    first, last = history.sheets[0].made_on, history.sheets[-1].made_on
    happened = [one.day for one in marked]
    svg = over_time(
        drawn,
        list(_bands(history, key, unit)),
        [DayMark(one.day, one.letter, goes_to=one.url, name=one.says) for one in marked],
        days=(min([first, *happened]), max([last, *happened])),
        on_a_tape=unit.name == "in",
        name=f"{name}, {count} figures from {day(first)} to {day(last)}: see the table",
        shown=shown,
    )
    return PlotShown(name, unit_suffix(measure, units), SafeString(svg))


def _in(unit: Unit, value: float) -> float:
    """A canonical figure in the unit of the plot."""
    return value / float(unit.factor) - float(unit.offset)


def _points(
    history: CarHistory, place: int, measure: Measure, unit: Unit, units: Units
) -> Iterator[DayPoint]:
    aims, link = history.aims[history.keys[place]], SheetLink()
    for sheet in history.sheets:
        value = sheet.values[place]
        if value is None:
            continue
        says = "as set" if sheet.is_set else "as found"
        text = _text(value, measure, units)
        yield DayPoint(
            sheet.made_on,
            _in(unit, value),
            sheet.is_set,
            goes_to=link.to(sheet.pk),
            name=f"{day(sheet.made_on)}, {says}: {text}",
            is_off=sheet.is_set and _is_off(value, aims.get(sheet.pk)),
        )


def _is_off(value: float, aim: Aim | None) -> bool:
    return aim is not None and abs(value - aim.target) > aim.tolerance + 1e-6


def _text(value: float, measure: Measure, units: Units) -> str:
    return format_figure(as_decimal(value), measure, units).removeprefix("about ")


def _months(history: CarHistory, place: int, unit: Unit) -> Iterator[DayPoint]:
    """One for each month and role: its middle, and from the lowest to the highest."""
    aims, link = history.aims[history.keys[place]], SheetLink()
    by_month: dict[tuple[int, int, bool], list[tuple[DaySheet, float]]] = defaultdict(list)
    for sheet in history.sheets:
        value = sheet.values[place]
        if value is not None:
            by_month[sheet.made_on.year, sheet.made_on.month, sheet.is_set].append((sheet, value))
    for (_, _, is_set), same in by_month.items():
        values = [value for _, value in same]
        first, last = same[0][0], same[-1][0]
        yield DayPoint(
            first.made_on,
            _in(unit, median(values)),
            is_set,
            goes_to=link.to(last.pk),
            name=f"{day(first.made_on)} to {day(last.made_on)}, {len(same)} sheets",
            is_off=is_set and any(_is_off(value, aims.get(each.pk)) for each, value in same),
            low=_in(unit, min(values)),
            high=_in(unit, max(values)),
        )


def _bands(history: CarHistory, key: Key, unit: Unit) -> Iterator[DayBand]:
    """From each day on which something else was aimed at."""
    aims, last = history.aims[key], None
    for sheet in history.sheets:
        aim = aims.get(sheet.pk)
        if sheet is not history.sheets[0] and aim == last:
            continue
        last = aim
        if aim is None or aim.tolerance <= 0:
            yield DayBand(sheet.made_on)
        else:
            low, high = aim.target - aim.tolerance, aim.target + aim.tolerance
            yield DayBand(sheet.made_on, _in(unit, low), _in(unit, high))


def show_happened(history: CarHistory, units: Units) -> list[MarkShown]:
    """All that happened, with where each leads, for a page that draws nothing."""
    return _marks(history, units)


def changed_words(changed: Sequence[tuple[str, str, int]]) -> list[tuple[str, str]]:
    """('Spring seat RF', '14 times'), the most often first."""
    return [
        (f"{adjuster_name(slug)} {spot}".strip(), "once" if count == 1 else f"{count} times")
        for slug, spot, count in changed
    ]


def adjuster_name(slug: str) -> str:
    """As a line begins with it."""
    known = ADJUSTERS.get(slug)
    name = known.name if known else slug
    return f"{name[:1].upper()}{name[1:]}"


def _marks(history: CarHistory, units: Units) -> list[MarkShown]:
    """All of them, the oldest first. The newest have the letters; over more than a season what was
    changed at the track, which is many, has none."""
    years = {sheet.made_on.year for sheet in history.sheets}
    worth = [one for one in history.happened if one.kind != "change" or len(years) == 1]
    letters = iter(LETTERS[: len(worth)])
    lettered = {id(one): next(letters) for one in worth[-len(LETTERS) :]}
    return [
        MarkShown(
            one.day,
            lettered.get(id(one), ""),
            f"{day(one.day)}: {_happened(one, units)}",
            _leads_to(one),
        )
        for one in history.happened
    ]


def _by_sheet(
    sheets: Sequence[DaySheet], marks: Sequence[MarkShown]
) -> dict[UUID, list[MarkShown]]:
    """Each mark at the last sheet up to its day; before the first sheet, at the first."""
    days = [sheet.made_on for sheet in sheets]
    by_sheet: dict[UUID, list[MarkShown]] = defaultdict(list)
    for mark in marks if sheets else ():
        by_sheet[sheets[max(bisect_right(days, mark.day) - 1, 0)].pk].append(mark)
    return by_sheet


def _leads_to(one: Happened) -> str:
    if one.event:
        return one.event.url
    return reverse("run", args=[one.run]) if one.run else reverse("sheet", args=[one.sheet])


def _changed(changes: Sequence[TrackChange], units: Units) -> str:
    """'spring seat RF +1/2 turn, −1/2 turn': each adjuster once."""
    amounts: dict[tuple[str, str], list[str]] = defaultdict(list)
    for each in changes:
        told = "swapped" if each.unit == "1" else format_amount(each.amount, each.unit, units)
        amounts[each.adjuster, each.spot].append(told)
    return ", ".join(
        format_adjustment(adjuster, spot, ", ".join(dict.fromkeys(told)))
        for (adjuster, spot), told in amounts.items()
    )


def _happened(one: Happened, units: Units) -> str:
    if one.kind == "event":
        return one.what
    if one.kind == "change":
        return f"at the track {_changed(one.changed, units)}"
    if one.kind == "damage":
        return f"{one.what}{f', {one.spot}' if one.spot else ''}"
    if one.kind == "baseline":
        return f"another baseline on {Surface(one.what).label.lower()}"
    was = f", was {one.was}" if one.was else ""
    return f"{one.what} at {one.spot}{was}"


def _row(
    history: CarHistory,
    sheet: DaySheet,
    measures: Sequence[Measure],
    units: Units,
    marks: list[MarkShown],
) -> RowShown:
    cells = []
    for key, measure, value in zip(history.keys, measures, sheet.values, strict=True):
        if value is None:
            cells.append(CellShown("–"))
            continue
        aim = history.aims[key].get(sheet.pk)
        off = ""
        if sheet.is_set and aim is not None and _is_off(value, aim):
            off = "high" if value > aim.target else "low"
        cells.append(CellShown(_text(value, measure, units), off))
    changes = ", ".join(format_change(each, units) for each in history.changes.get(sheet.pk, ()))
    role = "as set" if sheet.is_set else "as found"
    surface = Surface(sheet.surface).label.lower()
    return RowShown(
        sheet.pk,
        f"{day(sheet.made_on)}, {role}",
        f"{sheet.track}, {surface}" if sheet.track else surface,
        reverse("sheet", args=[sheet.pk]),
        cells,
        changes,
        marks,
    )
