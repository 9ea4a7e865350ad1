"""One measure over days: as found, as set, the target of that time, and marks of what happened."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from html import escape

from clubsetup.plots.marks import Point, point
from clubsetup.plots.scales import Scale
from clubsetup.plots.svg import BAND, EDGE, GREY, INK, drawing, element, number, text
from clubsetup.plots.ticks import Tick, decimals, sixteenths

WIDTH, HEIGHT = 480.0, 176.0
_LEFT, _RIGHT, _TOP, _FOOT = 52.0, 8.0, 8.0, 40.0
_DOT = 9.0
_LETTERS_FROM = 14.0  # above the foot of the plot
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
_MOST_NAMED = 6  # days along the foot


@dataclass(frozen=True, slots=True)
class DayPoint:
    """One figure of one day, in the measure's unit; `goes_to` is where it leads.

    `low` and `high` where it stands for several.
    """

    day: date
    value: float
    is_set: bool
    goes_to: str = ""
    name: str = ""
    is_off: bool = False
    low: float | None = None
    high: float | None = None


@dataclass(frozen=True, slots=True)
class DayBand:
    """What was aimed at from this day on, until the next one's; without ends nothing was."""

    since: date
    low: float | None = None
    high: float | None = None


@dataclass(frozen=True, slots=True)
class DayMark:
    """Something that happened, by its letter in the list below; `goes_to` is where it leads."""

    day: date
    letter: str
    goes_to: str = ""
    name: str = ""


def over_time(
    points: Sequence[DayPoint],
    bands: Sequence[DayBand] = (),
    marks: Sequence[DayMark] = (),
    *,
    days: tuple[date, date],
    on_a_tape: bool = False,
    name: str = "",
    shown: tuple[float, float] | None = None,
) -> str:
    """The plot: a full dot as set, an open ring as found, the band of the time behind them.

    The days go along the foot, from the first of `days` to the last. `on_a_tape` marks the scale on
    sixteenths. Raises ValueError without a point.
    """
    if not points:
        raise ValueError("A plot has at least one point.")
    along = _along(days)
    up = _up(points, bands)
    ticks = (sixteenths if on_a_tape else decimals)(up.low, up.high, 5)
    parts = [
        *_bands(bands, along, up),
        *_frame(ticks, along, up),
        *_days(days, along),
        *_line([one for one in points if one.is_set], along, up),
        *(drawn for one in points for drawn in _point(one, along, up)),
        *(drawn for one in marks for drawn in _mark(one, along)),
    ]
    return drawing(parts, width=WIDTH, height=HEIGHT, class_="plot", name=name, shown=shown)


def _along(days: tuple[date, date]) -> Scale:
    first, last = (float(day.toordinal()) for day in days)
    return Scale(first, max(last, first + 1.0), _LEFT, WIDTH - _RIGHT - _DOT)


def _up(points: Sequence[DayPoint], bands: Sequence[DayBand]) -> Scale:
    """All that is drawn, and some room above and below."""
    ends = [each for one in points for each in (one.value, one.low, one.high)]
    ends += [each for band in bands for each in (band.low, band.high)]
    values = [each for each in ends if each is not None]
    low, high = min(values), max(values)
    room = 0.12 * (high - low) or max(abs(high) * 0.02, 0.1)
    return Scale(low - room, high + room, HEIGHT - _FOOT, _TOP)


def _bands(bands: Sequence[DayBand], along: Scale, up: Scale) -> Iterator[str]:
    ends = [*(float(band.since.toordinal()) for band in bands[1:]), along.high][: len(bands)]
    for place, (band, until) in enumerate(zip(bands, ends, strict=True)):
        if band.low is None or band.high is None:
            continue
        begin = along.start if place == 0 else along(band.since.toordinal())
        end = WIDTH - _RIGHT if until == along.high else along(until)
        top, foot = up(band.high), up(band.low)
        if end <= begin:
            continue
        yield element(
            "rect", class_="b", x=begin, y=top, width=end - begin, height=foot - top, fill=BAND
        )
        edges = f"M{number(begin)} {number(top)}H{number(end)}M{number(begin)} {number(foot)}"
        yield element(
            "path", class_="e", d=f"{edges}H{number(end)}", stroke=EDGE, stroke_width=1, fill="none"
        )


def _frame(ticks: Sequence[Tick], along: Scale, up: Scale) -> Iterator[str]:
    foot = HEIGHT - _FOOT
    axis = f"M{number(_LEFT)} {number(_TOP)}V{number(foot)}H{number(WIDTH - _RIGHT)}"
    yield element("path", class_="l", d=axis, stroke=GREY, stroke_width=1, fill="none")
    for tick in ticks:
        y = up(tick.at)
        stroke = f"M{number(_LEFT - 4)} {number(y)}H{number(_LEFT)}"
        yield element("path", class_="l", d=stroke, stroke=GREY, stroke_width=1)
        yield text(tick.words, _LEFT - 7, y + 4.5, font_size=13, text_anchor="end")


def _days(days: tuple[date, date], along: Scale) -> Iterator[str]:
    """Beginnings of months or of years, as many as can be read."""
    first, last = days
    starts = [
        date(year, month, 1)
        for year in range(first.year, last.year + 1)
        for month in range(1, 13)
        if first <= date(year, month, 1) <= last
    ]
    step = max(1, -(-len(starts) // _MOST_NAMED))
    if step > 6:  # half a year: years are named alone
        starts = [day for day in starts if day.month == 1]
        step = max(1, -(-len(starts) // _MOST_NAMED))
    for day in starts[::step]:
        x = along(day.toordinal())
        stroke = f"M{number(x)} {number(HEIGHT - _FOOT)}v5"
        yield element("path", class_="l", d=stroke, stroke=GREY, stroke_width=1)
        is_first_of_its_year = day.month == 1 or day == starts[0]
        words = f"{MONTHS[day.month - 1]} {day.year}" if is_first_of_its_year else ""
        words = words or MONTHS[day.month - 1]
        yield text(words, x, HEIGHT - _FOOT + 19, font_size=13, text_anchor="middle")


def _line(points: Sequence[DayPoint], along: Scale, up: Scale) -> Iterator[str]:
    if len(points) > 1:
        places = " ".join(
            f"{number(along(one.day.toordinal()))},{number(up(one.value))}" for one in points
        )
        yield element(
            "polyline", class_="line", points=places, fill="none", stroke=INK, stroke_width=1.2
        )


def _point(one: DayPoint, along: Scale, up: Scale) -> Iterator[str]:
    x, y = along(one.day.toordinal()), up(one.value)
    inside = []
    if one.low is not None and one.high is not None and one.low < one.high:
        stroke = f"M{number(x)} {number(up(one.low))}V{number(up(one.high))}"
        inside.append(element("path", class_="w", d=stroke, stroke=GREY, stroke_width=2))
    shape: Point = "dot" if one.is_set else "ring"
    inside.append(point(shape, x, y, _DOT, class_="bad" if one.is_off else ""))
    if one.name:
        inside.append(element("title", escape(one.name)))
    if one.goes_to:
        yield element("a", inside, {"href": one.goes_to, "aria_label": one.name or None})
    else:
        yield from inside


def _mark(one: DayMark, along: Scale) -> Iterator[str]:
    x, foot = along(one.day.toordinal()), HEIGHT - _FOOT
    inside = [element("title", escape(one.name))] if one.name else []
    letter = text(
        one.letter,
        x,
        foot - _LETTERS_FROM,
        class_="k",
        font_size=12,
        font_weight=600,
        text_anchor="middle",
    )
    top = number(foot - 11)
    corners = f"M{number(x - 4.5)} {top}H{number(x + 4.5)}L{number(x)} {number(foot - 3)}z"
    inside += [letter, element("path", class_="event", d=corners, fill=INK)]
    if one.goes_to:
        yield element("a", inside, {"href": one.goes_to, "aria_label": one.name or None})
    else:
        yield from inside
