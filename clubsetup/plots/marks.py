"""The marks of states as paths in a square of 16 by 16, and the points that stand on a plot."""

from typing import Literal

from clubsetup.plots.svg import GREY, INK, WHITE, Attribute, element, number

# Never characters of a font: fallback fonts differ.
PATHS = {
    "tick": "M6.3 13.4 1.3 8.6l1.6-1.8 3.3 3.1 6.7-7.3 1.7 1.7z",
    "low": "M1.5 3h13L8 14z",
    "high": "M1.5 13h13L8 2z",
    "waves": "M1 6.2c2.3-3 4.7-2.3 7-.7s4.7 2.2 7-.7v2.6c-2.3 3-4.7 2.3-7 .7s-4.7-2.2-7 .7z"
    "M1 11.4c2.3-3 4.7-2.3 7-.7s4.7 2.2 7-.7v2.6c-2.3 3-4.7 2.3-7 .7s-4.7-2.2-7 .7z",
    "ring": "M8 1.5a6.5 6.5 0 1 0 0 13 6.5 6.5 0 0 0 0-13z"
    "m0 1.8a4.7 4.7 0 1 1 0 9.4 4.7 4.7 0 0 1 0-9.4z",
    "again": "M8 2.2a5.8 5.8 0 1 0 5.8 5.8h-2a3.8 3.8 0 1 1-3.8-3.8V7l4.2-3.8L8 0z",
    "refused": "M4.9 1h6.2L15 4.9v6.2L11.1 15H4.9L1 11.1V4.9zM5.6 4.3 4.3 5.6 6.7 8l-2.4 2.4"
    " 1.3 1.3L8 9.3l2.4 2.4 1.3-1.3L9.3 8l2.4-2.4-1.3-1.3L8 6.7z",
    "caution": "M8 .8 15.7 15H.3zM7 5.5v5h2v-5zM7 11.7v1.8h2v-1.8z",
    "next": "M4.5 1.3 11.2 8l-6.7 6.7L3 13.2 8.2 8 3 2.8z",
    "back": "M11.5 1.3 4.8 8l6.7 6.7L13 13.2 7.8 8 13 2.8z",
    "pen": "M1.5 14.5l1-4.2L10.9 1.9l3.2 3.2-8.4 8.4z",
    "closed": "M4 7V5a4 4 0 0 1 8 0v2h1.5v8h-11V7zm1.8 0h4.4V5a2.2 2.2 0 0 0-4.4 0z",
}
Point = Literal["dot", "ring", "square", "triangle"]


def point(shape: Point, x: float, y: float, size: float = 9.0, *, class_: str = "") -> str:
    """A point of a plot with its middle at (x, y), `size` user units across."""
    half = size / 2.0
    look: dict[str, Attribute] = {"class_": f"pt {shape} {class_}".strip()}
    if shape == "dot":
        return element("circle", attributes=look, cx=x, cy=y, r=half, fill=INK)
    if shape == "ring":
        edge: dict[str, Attribute] = {"fill": WHITE, "stroke": INK, "stroke_width": 2}
        return element("circle", attributes={**edge, **look}, cx=x, cy=y, r=half - 1)
    if shape == "square":
        square: dict[str, Attribute] = {"x": x - half, "y": y - half, "width": size, "height": size}
        return element("rect", attributes={**square, **look}, fill=INK)
    top, foot = number(y - half), number(y + half)
    corners = f"M{number(x)} {top}L{number(x + half)} {foot}H{number(x - half)}z"
    return element("path", attributes=look, d=corners, fill=GREY)
