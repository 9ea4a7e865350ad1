"""The steps of a piece of work as segments: filled taken, outlined not yet, tall where one is."""

from collections.abc import Sequence
from enum import StrEnum

from clubsetup.plots.svg import GREY, INK, drawing, element

WIDTH, HEIGHT, GAP = 360.0, 14.0, 3.0  # user units; a page stretches the whole to its own width


class Segment(StrEnum):
    """What a step is; the values are the classes that pages colour them by."""

    DONE = "done"
    TODO = "todo"
    OFF = "bad"
    RETAKE = "again"


def segments(steps: Sequence[Segment], here: int | None = None) -> str:
    """The segments, hidden from a screen reader: a list beside them says the same.

    `here` is the place of the step one is at. A step with something off has its corner cut in
    colour; one with something to be taken again is an outline of its own.
    """
    width = WIDTH / max(len(steps), 1)
    parts = [
        part
        for place, segment in enumerate(steps)
        for part in _segment(segment, place * width + GAP / 2, width - GAP, here == place)
    ]
    return drawing(parts, width=WIDTH, height=HEIGHT, class_="segs", preserveAspectRatio="none")


def _segment(segment: Segment, x: float, width: float, is_here: bool) -> list[str]:
    if is_here:
        return [element("rect", class_="here", x=x, y=2, width=width, height=10, fill=INK)]
    if segment in (Segment.TODO, Segment.RETAKE):
        edge = 1.75 if segment is Segment.RETAKE else 1.25
        return [
            element(
                "rect",
                class_=str(segment),
                x=x + 0.5,
                y=4,
                width=width - 1,
                height=6,
                fill="none",
                stroke=GREY,
                stroke_width=edge,
            )
        ]
    parts = [element("rect", class_="done", x=x, y=4, width=width, height=6, fill=GREY)]
    if segment is Segment.OFF:
        corner = f"M{x + width - 9:.2f} 0h9v9z"
        parts.append(element("path", class_="bad", d=corner, fill=INK))
    return parts
