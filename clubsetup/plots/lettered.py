"""Two to twelve figures against one band, each by its letter: sheets or cars side by side."""

from collections.abc import Sequence
from dataclasses import dataclass

from clubsetup.plots.bands import Band
from clubsetup.plots.scales import Scale
from clubsetup.plots.svg import BAND, EDGE, GREY, INK, drawing, element, number, text

_LETTER = 9.0  # user units that a letter takes along the strip
_LANE = 12.0
_END = 10.0

# Where the band begins and where it ends, along the strip.
Edges = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Lettered:
    """One figure in the measure's unit, and the letter it is known by."""

    letter: str
    value: float


def lettered_strip(
    band: Band, figures: Sequence[Lettered], *, length: float = 360.0, name: str = ""
) -> str:
    """Each figure as a stroke with its letter, in lanes, so that none hides another.

    Equal figures share a stroke ('ACD'). The scale is the band's, longer where one would leave it.
    """
    own = band.scale(_END, length - _END)
    values = [one.value for one in figures]
    scale = Scale(min([own.low, *values]), max([own.high, *values]), own.start, own.end)
    edges = begin, end = band.ends(scale)
    lanes = _lanes(figures, scale, edges)
    height = _LANE * max(len(lanes), 1) + 6.0
    middle = number(height / 2.0)
    along = f"M{number(scale.start)} {middle}H{number(scale.end)}"
    ends = f"M{number(begin)} 0V{number(height)}M{number(end)} 0V{number(height)}"
    parts = [
        element("path", class_="l", d=along, stroke=GREY, stroke_width=1),
        element("rect", class_="b", x=begin, y=1, width=end - begin, height=height - 2, fill=BAND),
        element("path", class_="e", d=ends, stroke=EDGE, stroke_width=1.5),
    ]
    for lane, placed in enumerate(lanes):
        foot = 3.0 + _LANE * (lane + 1)
        for letters, x in placed:
            stroke = f"M{number(x)} {number(foot - 11.0)}V{number(foot)}"
            parts.append(element("path", class_="tick", d=stroke, stroke=INK, stroke_width=1.5))
            is_turned = _is_turned(letters, x, scale, edges)
            anchor, beside = ("end", x - 3.0) if is_turned else ("start", x + 3.0)
            parts.append(
                text(letters, beside, foot - 1.5, class_="k", font_size=12, text_anchor=anchor)
            )
    return drawing(parts, width=length, height=height, class_="gauge spread", name=name)


def _lanes(
    figures: Sequence[Lettered], scale: Scale, edges: Edges
) -> list[list[tuple[str, float]]]:
    """The letters with their places, in as few lanes as keep them apart."""
    placed: dict[float, str] = {}
    for one in figures:
        x = round(scale(one.value), 2)
        placed[x] = placed.get(x, "") + one.letter
    lanes: list[list[tuple[str, float]]] = []
    for x, letters in sorted(placed.items()):
        begins = _begins(letters, x, scale, edges)
        lane = next((lane for lane in lanes if _ends(lane[-1], scale, edges) < begins), None)
        if lane is None:
            lane = []
            lanes.append(lane)
        lane.append((letters, x))
    return lanes


def _is_turned(letters: str, x: float, scale: Scale, edges: Edges) -> bool:
    """Before its stroke and not after it: at the end of the scale, and off an edge of the band."""
    wide = 3.0 + _LETTER * len(letters)
    if x + wide + _LETTER > scale.end + _END:
        return True
    crosses_after = any(x + 1.0 < edge < x + wide for edge in edges)
    crosses_before = any(x - wide < edge < x - 1.0 for edge in edges)
    return crosses_after and not crosses_before and x - wide > scale.start - _END


def _begins(letters: str, x: float, scale: Scale, edges: Edges) -> float:
    is_turned = _is_turned(letters, x, scale, edges)
    return x - _LETTER * len(letters) - 3.0 if is_turned else x - 1.0


def _ends(placed: tuple[str, float], scale: Scale, edges: Edges) -> float:
    letters, x = placed
    is_turned = _is_turned(letters, x, scale, edges)
    return x + 2.0 if is_turned else x + 3.0 + _LETTER * len(letters)
