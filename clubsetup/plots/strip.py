"""The target strip: where a figure stands between its tolerances, and how sure that is.

Band: target and tolerance. Needle: the figure. Whisker: what tool and hands allow. Small open
triangle: where it was set last time. The same on the bench, at the scales, in a list and on paper.
"""

from dataclasses import dataclass
from enum import StrEnum
from functools import lru_cache
from math import isfinite

from clubsetup.plots.bands import Band
from clubsetup.plots.scales import Scale
from clubsetup.plots.svg import (
    BAND,
    EDGE,
    GREY,
    INK,
    WHITE,
    Attribute,
    drawing,
    element,
    number,
    text,
)


class State(StrEnum):
    """What a figure is to its target; the values are the classes that pages colour states by."""

    ON_TARGET = "good"
    OFF = "bad"
    TOO_CLOSE = "close"
    NOT_TAKEN = "none"
    RETAKE = "again"
    REFUSED = "refused"


NEEDLELESS = (State.NOT_TAKEN, State.REFUSED)


@dataclass(frozen=True, slots=True)
class Size:
    """Of a strip, in user units: its length, its height without words, and half its band."""

    length: float
    height: float
    half_band: float
    inset: float = 5.0  # at both ends, where an arrowhead may stand out


BOX = Size(150.0, 18.0, 5.0)  # under a reading box, in a list
WIDE = Size(210.0, 26.0, 7.0)  # at the desk, in a comparison
BELOW = 14.0  # user units for a line of words under a strip
# Enough for the pages of a busy evening, a kilobyte each; drawing one is pure.
_KEPT = 4096


@dataclass(frozen=True, slots=True)
class Reading:
    """A figure against its band; all in the measure's unit.

    `reach` is half of the whisker: half a step of the tool, or 1.96 u of a computed figure.
    `before` is where it was set last time. `state` is judged by whoever draws, not here.
    """

    band: Band
    state: State
    value: float | None = None
    reach: float = 0.0
    before: float | None = None

    def __post_init__(self) -> None:
        """Refuses figures that stand nowhere, and a needle that has no figure."""
        figures = (self.value, self.reach, self.before)
        if not all(isfinite(figure) for figure in figures if figure is not None):
            raise ValueError("A strip has finite figures.")
        if self.reach < 0:
            raise ValueError("A reach is not below 0.")
        if self.value is None and self.state not in NEEDLELESS:
            raise ValueError(f"What is {self.state.name} has a figure.")


@lru_cache(maxsize=_KEPT)
def target_strip(
    reading: Reading,
    *,
    size: Size = BOX,
    turned: bool = False,
    name: str | None = None,
    words: tuple[str, str] | None = None,
    shown: tuple[float, float] | None = None,
) -> str:
    """The strip as SVG; `turned` it stands upright with more above.

    `name` is said for it, '' where words beside it say the same; without one it says where the
    needle stands. `words` are written under the edge of a limit and under the needle. `shown` is
    its width and height on paper, in whatever CSS takes as pixels.
    """
    scale = reading.band.scale(size.inset, size.length - size.inset)
    line = _Line(size, turned)
    parts = [
        *_ground(reading.band, scale, line),
        *_before(reading, scale, line),
        *_whisker(reading, scale, line),
        *_needle(reading, scale, line),
        *(_words(reading, scale, line, words) if words else ()),
    ]
    height = size.height + (BELOW if words else 0.0)
    width, height = (height, size.length) if turned else (size.length, height)
    said = describe(reading) if name is None else name
    return drawing(
        parts,
        width=width,
        height=height,
        class_="gauge turned" if turned else "gauge",
        name=said,
        shown=shown,
    )


def describe(reading: Reading) -> str:
    """Where the needle stands, in words: 'below the band', 'across the edge of the band'."""
    if reading.state is State.REFUSED:
        return "not saved"
    if reading.value is None or reading.state is State.NOT_TAKEN:
        return "not taken"
    band, value = reading.band, reading.value
    below = band.low is not None and value < band.low
    above = band.high is not None and value > band.high
    place = "below the band" if below else "above the band" if above else "in the band"
    if reading.state is State.TOO_CLOSE:
        place = "across the edge of the band"
    if band.scale(0.0, 1.0).side(value):
        place = f"far {place}"
    return f"{place}, to be taken again" if reading.state is State.RETAKE else place


@dataclass(frozen=True, slots=True)
class _Line:
    """Along and across a strip, whichever way it lies."""

    size: Size
    turned: bool

    @property
    def middle(self) -> float:
        return self.size.height / 2.0 - 1.0

    def at(self, along: float, across: float) -> tuple[float, float]:
        """Where that is: (x, y). Upright, more is above and `across` goes to the right."""
        return (across, self.size.length - along) if self.turned else (along, across)

    def path(self, *lines: list[tuple[float, float]], closed: bool = False) -> str:
        """Lines through places along and across."""
        drawn = []
        for places in lines:
            points = [self.at(*place) for place in places]
            drawn.append("M" + "L".join(f"{number(x)} {number(y)}" for x, y in points))
        return "".join(one + ("z" if closed else "") for one in drawn)

    def rect(self, begin: float, end: float, half: float, **attributes: Attribute) -> str:
        """A rectangle from begin to end along, `half` to both sides of the middle."""
        x1, y1 = self.at(begin, self.middle - half)
        x2, y2 = self.at(end, self.middle + half)
        return element(
            "rect",
            x=min(x1, x2),
            y=min(y1, y2),
            width=abs(x2 - x1),
            height=abs(y2 - y1),
            attributes=attributes,
        )


def _ground(band: Band, scale: Scale, line: _Line) -> list[str]:
    """The line of the scale, the band with its edges, and a short stroke at the target."""
    begin, end = band.ends(scale)
    middle, half = line.middle, line.size.half_band
    edges = [
        [(edge, middle - half - 1.5), (edge, middle + half + 1.5)]
        for edge, is_one in ((begin, band.low is not None), (end, band.high is not None))
        if is_one
    ]
    whole = line.path([(scale.start, middle), (scale.end, middle)])
    parts = [
        element("path", class_="l", d=whole, fill="none", stroke=GREY, stroke_width=1),
        line.rect(begin, end, half, class_="b", fill=BAND),
        element("path", class_="e", d=line.path(*edges), stroke=EDGE, stroke_width=1.5),
    ]
    if band.target is not None:
        at = scale(band.target)
        stroke = line.path([(at, middle - 2.0), (at, middle + 2.0)])
        parts.append(element("path", class_="z", d=stroke, stroke=EDGE, stroke_width=1.5))
    return parts


def _before(reading: Reading, scale: Scale, line: _Line) -> list[str]:
    """A small open triangle under the line: where it was set last time, if that is on the scale."""
    if reading.before is None or scale.side(reading.before):
        return []
    at, top = scale(reading.before), line.middle + line.size.half_band - 1.5
    outline = line.path([(at, top), (at + 4.0, top + 5.0), (at - 4.0, top + 5.0)], closed=True)
    return [
        element("path", class_="before", d=outline, fill="none", stroke=GREY, stroke_width=1.25)
    ]


def _whisker(reading: Reading, scale: Scale, line: _Line) -> list[str]:
    """What tool and hands allow; an end beyond the scale has no stop."""
    is_drawn = reading.reach > 0 and reading.state in (
        State.ON_TARGET,
        State.OFF,
        State.TOO_CLOSE,
    )
    if reading.value is None or not is_drawn:
        return []
    low, high, middle = reading.value - reading.reach, reading.value + reading.reach, line.middle
    if scale.side(low) == scale.side(high) != 0:
        return []
    lines = [[(scale(low), middle), (scale(high), middle)]]
    lines += [
        [(scale(end), middle - 3.0), (scale(end), middle + 3.0)]
        for end in (low, high)
        if not scale.side(end)
    ]
    look = f"w {reading.state}"
    return [element("path", class_=look, d=line.path(*lines), stroke=GREY, stroke_width=1.5)]


def _needle(reading: Reading, scale: Scale, line: _Line) -> list[str]:
    """The figure: solid, thick where off, hollow where too close, an outline where to retake.

    Where it leaves the scale it is an arrowhead that points out.
    """
    if reading.value is None or reading.state in NEEDLELESS:
        return []
    at, half = scale(reading.value), line.size.half_band + 2.0
    out, paint = _leaves(scale, reading.value), _PAINT[reading.state]
    look: dict[str, Attribute] = {"class_": f"n {reading.state}", **paint}
    if out:
        tip, back = at + out * (line.size.inset - 0.5), at - out * 5.0
        middle = line.middle
        head = [(tip, middle), (back, middle - half), (back, middle + half)]
        return [element("path", d=line.path(head, closed=True), attributes=look)]
    thin = 2.0 if reading.state is State.ON_TARGET else 2.5
    return [line.rect(at - thin, at + thin, half, **look)]


def _leaves(scale: Scale, value: float) -> int:
    """Past which end it is, or on it, where half a needle would stand out: -1, 1, or 0 inside."""
    return (value >= scale.high) - (value <= scale.low)


_PAINT: dict[State, dict[str, Attribute]] = {
    State.ON_TARGET: {"fill": INK},
    State.OFF: {"fill": INK},
    State.TOO_CLOSE: {"fill": WHITE, "stroke": INK, "stroke_width": 2},
    State.RETAKE: {"fill": "none", "stroke": INK, "stroke_width": 2, "stroke_dasharray": "3 2"},
}


def _words(reading: Reading, scale: Scale, line: _Line, words: tuple[str, str]) -> list[str]:
    """What stands under the limit's edge and under the needle, kept inside the strip."""
    band, (edge_words, value_words) = reading.band, words
    edge = band.low if band.low is not None else band.high
    found = []
    for said, value, look in ((edge_words, edge, None), (value_words, reading.value, "k")):
        if not said or value is None:
            continue
        at, across = scale(value), line.size.height + BELOW - 3.0
        x, y = line.at(at, across)
        if line.turned:
            found.append(text(said, x - 8.0, y + 4.0, class_=look, font_size=12.5))
        else:
            half = 3.4 * len(said)  # about half its width at 12.5 px
            x = min(max(x, half), line.size.length - half)
            found.append(text(said, x, y, class_=look, font_size=12.5, text_anchor="middle"))
    return found
