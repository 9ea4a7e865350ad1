"""A figure with its interval for each of some days or weeks, the oldest at the left."""

from collections.abc import Sequence
from dataclasses import dataclass

from clubsetup.plots.scales import Scale
from clubsetup.plots.svg import GREY, INK, drawing, element, number, text
from clubsetup.plots.ticks import decimals

_LEFT, _RIGHT, _TOP, _FOOT = 34.0, 8.0, 10.0, 22.0
_HIGH = 130.0


@dataclass(frozen=True, slots=True)
class Ranged:
    """One period: its words under the axis, its figure and the ends of its interval, if it has."""

    words: str
    value: float | None = None
    low: float = 0.0
    high: float = 0.0


def over_periods(periods: Sequence[Ranged], *, name: str, length: float = 360.0) -> str:
    """Dots on whiskers from 0 up, evenly spaced; a period without a figure keeps its place empty.

    Of many periods not each has its words under it; the newest always has.
    """
    top = max((one.high for one in periods if one.value is not None), default=1.0) or 1.0
    scale = Scale(0.0, top, _TOP + _HIGH, _TOP)
    apart = (length - _LEFT - _RIGHT) / max(len(periods), 1)
    parts = []
    for tick in decimals(0.0, top, 5):
        y = scale(tick.at)
        along = f"M{number(_LEFT)} {number(y)}H{number(length)}"
        parts.append(element("path", class_="l", d=along, stroke=GREY, stroke_width=0.75))
        parts.append(text(tick.words, _LEFT - 6.0, y + 4.0, font_size=12, text_anchor="end"))
    each = max(1, -(-len(periods) // 4))
    for place, one in enumerate(periods):
        x = _LEFT + apart * (place + 0.5)
        # Counted from the newest, which always has its words.
        if (len(periods) - 1 - place) % each == 0:
            foot = _TOP + _HIGH + _FOOT - 4.0
            parts.append(text(one.words, x, foot, font_size=12, text_anchor="middle"))
        if one.value is None:
            continue
        whisker = f"M{number(x)} {number(scale(one.low))}V{number(scale(one.high))}"
        parts.append(element("path", class_="w", d=whisker, stroke=GREY, stroke_width=2))
        parts.append(element("circle", class_="n", cx=x, cy=scale(one.value), r=4.5, fill=INK))
    height = _TOP + _HIGH + _FOOT
    return drawing(parts, width=length, height=height, class_="gauge spread periods", name=name)
