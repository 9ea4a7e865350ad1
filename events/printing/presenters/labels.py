"""Ballast labels as SVG, placed in millimetres, the text as large as the label lets it be.

A number or name of any length stands whole in its own part of the label: it is set smaller, and a
long one on two lines or three.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from html import escape

from cars.models import BallastPiece
from clubsetup.printing.lettering import LEADING, fit
from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.writing import show
from events.printing.presenters.label_sheets import PAPERS, LabelSheet

SAFE = 0.07  # of the label's height, kept free around
EDGE = 4.5  # mm from the paper's edge that many printers leave white
BASELINE = 0.93  # from the top of a line of type to its baseline, in heights of the type
FONT = "Hyperlegible, DejaVu Sans, sans-serif"


@dataclass(frozen=True, slots=True)
class Label:
    number: str
    name: str
    pounds: str
    kilograms: str
    also: str = ""  # what the team has written on the piece, where it is something else


def label_of(piece: BallastPiece, *, number: str, name: str) -> Label:
    """The label of one piece on a car of this number, for this driver or team."""
    also = "" if piece.label in (number, name) else piece.label
    mass = piece.marked_mass
    return Label(number, name, weight(mass, "lb"), weight(mass, "kg"), also)


def weight(mass: Decimal, unit: str) -> str:
    """A mass in a unit: exact where it can be written so, to a hundredth where not."""
    exact = show(mass, Kind.MASS, unit=unit, style="decimal")
    if exact.exact and len(exact.bare) <= 6:
        return exact.pretty
    return show(mass, Kind.MASS, unit=unit, style="decimal", places=2).pretty


def sheets_of(labels: Iterable[Label], sheet: LabelSheet) -> list[str]:
    """One SVG drawing, in millimetres, for each sheet of paper."""
    queue = list(labels)
    width, height = PAPERS[sheet.paper]
    drawn = []
    for places in sheet.places(len(queue)):
        here, queue = queue[: len(places)], queue[len(places) :]
        inside = "".join(
            f'<g transform="translate({x:.3f} {y:.3f})">{_drawn(one, sheet)}</g>'
            for one, (x, y) in zip(here, places, strict=True)
        )
        drawn.append(
            f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}mm" height="{height}mm" '
            f'viewBox="0 0 {width} {height}">{inside}</svg>'
        )
    return drawn


@dataclass(frozen=True, slots=True)
class _Part:
    """A part of a label that one text has to itself: left, top, width and height."""

    x: float
    y: float
    width: float
    height: float


def _drawn(label: Label, sheet: LabelSheet) -> str:
    """Number on the left; name, pounds and kilograms on the right; a line between."""
    w, h = sheet.width, sheet.height
    pad = max(2.0, SAFE * h, EDGE - sheet.left, EDGE - sheet.top)
    split = pad + 0.36 * (w - 2.0 * pad)
    left, right, tall = split - 2.0 * pad, w - pad - split, h - 2.0 * pad
    under = pad + 0.76 * tall
    texts = [
        _text(label.number, _Part(pad, pad, left, 0.72 * tall), largest=0.52 * h, weight=800),
        _text(label.also or "Ballast", _Part(pad, under, left, h - pad - under), lines=3),
        _text(label.name, _Part(split, pad, right, 0.28 * tall), weight=600, lines=2),
        _text(label.pounds, _Part(split, pad + 0.3 * tall, right, 0.42 * tall), weight=800),
        _text(label.kilograms, _Part(split, under, right, h - pad - under), weight=600),
    ]
    line = (
        f'<path d="M{split - pad:.2f} {pad:.2f}V{h - pad:.2f}" stroke="#000" stroke-width="0.4"/>'
    )
    return line + "".join(texts)


def _text(
    text: str, part: _Part, *, largest: float = 100.0, weight: int = 400, lines: int = 1
) -> str:
    """A text as large as its part of the label lets it be, in the middle of the part's height."""
    fitted = fit(text, room=part.width, largest=largest, height=part.height, lines=lines)
    step = LEADING * fitted.size
    first = part.y + (part.height - step * len(fitted.lines)) / 2.0 + BASELINE * fitted.size
    return "".join(
        f'<text x="{part.x:.2f}" y="{first + n * step:.2f}" font-family="{FONT}" '
        f'font-size="{fitted.size:.3f}" font-weight="{weight}">{escape(line)}</text>'
        for n, line in enumerate(fitted.lines)
    )
