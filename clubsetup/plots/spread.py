"""Several figures against one band: sheets side by side, or the cars of a club."""

from collections.abc import Sequence
from dataclasses import dataclass

from clubsetup.plots.bands import Band
from clubsetup.plots.marks import Point, point
from clubsetup.plots.scales import Scale
from clubsetup.plots.svg import BAND, EDGE, GREY, INK, drawing, element, number, text


@dataclass(frozen=True, slots=True)
class Lane:
    """One of a few figures: its value in the measure's unit, the shape it is known by."""

    value: float
    shape: Point
    state: str = ""


def lanes(band: Band, figures: Sequence[Lane], *, length: float = 360.0, name: str) -> str:
    """Up to a handful of figures, each in a lane of its own, so that none hides another.

    The scale is the band's, made longer where a figure would leave it.
    """
    step, top = 11.0, 7.0
    height = 2 * top + step * max(len(figures) - 1, 0)
    scale = _wide_enough(band, [one.value for one in figures], 8.0, length - 8.0)
    begin, end = band.ends(scale)
    parts = [
        _axis(scale, height / 2),
        element("rect", class_="b", x=begin, y=1, width=end - begin, height=height - 2, fill=BAND),
        *_edges(band, begin, end, height),
        *(
            point(one.shape, scale(one.value), top + step * n, class_=one.state)
            for n, one in enumerate(figures)
        ),
    ]
    return drawing(parts, width=length, height=height, class_="gauge spread", name=name)


@dataclass(frozen=True, slots=True)
class Member:
    """One car of many: its value in the measure's unit, its number, whether it is the odd one."""

    value: float
    number: str
    is_odd: bool = False


def spread(band: Band, members: Sequence[Member], *, length: float = 360.0, name: str) -> str:
    """Many figures as ticks; the odd one out is tall and numbered."""
    height, middle = 34.0, 22.0
    scale = _wide_enough(band, [one.value for one in members], 8.0, length - 8.0)
    begin, end = band.ends(scale)
    parts = [
        _axis(scale, middle),
        element("rect", class_="b", x=begin, y=middle - 6, width=end - begin, height=12, fill=BAND),
        *_edges(band, begin, end, height, middle - 8.0),
    ]
    for one in members:
        x, tall = scale(one.value), 10.0 if one.is_odd else 5.0
        stroke = f"M{number(x)} {number(middle - tall)}L{number(x)} {number(middle + tall)}"
        look = "tick odd" if one.is_odd else "tick"
        width = 3 if one.is_odd else 1.5
        parts.append(element("path", class_=look, d=stroke, stroke=INK, stroke_width=width))
        if one.is_odd:
            parts.append(text(one.number, x, 9.0, class_="bad", font_size=12, text_anchor="middle"))
    return drawing(parts, width=length, height=height, class_="gauge spread", name=name)


def _wide_enough(band: Band, values: Sequence[float], start: float, end: float) -> Scale:
    own = band.scale(start, end)
    return Scale(min([own.low, *values]), max([own.high, *values]), start, end)


def _axis(scale: Scale, y: float) -> str:
    along = f"M{number(scale.start)} {number(y)}H{number(scale.end)}"
    return element("path", class_="l", d=along, stroke=GREY, stroke_width=1)


def _edges(band: Band, begin: float, end: float, height: float, top: float = 0.0) -> list[str]:
    places = [place for place, edge in ((begin, band.low), (end, band.high)) if edge is not None]
    drawn = "".join(f"M{number(x)} {number(top)}V{number(height)}" for x in places)
    return [element("path", class_="e", d=drawn, stroke=EDGE, stroke_width=1.5)]
