"""Ballast labels as SVG, placed in millimetres, the text as large as the label lets it be."""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from html import escape

from cars.models import BallastPiece
from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.writing import show
from events.label_sheets import PAPERS, LabelSheet

# Width of a bold figure or letter in heights of the type, on the wide side.
LETTER = 0.68
SAFE = 0.07  # of the label's height, kept free around
FONT = "Liberation Sans, DejaVu Sans, sans-serif"


@dataclass(frozen=True, slots=True)
class Label:
    """What stands on one label."""

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


def _drawn(label: Label, sheet: LabelSheet) -> str:
    """Number on the left; name, pounds and kilograms on the right."""
    w, h = sheet.width, sheet.height
    pad = max(2.0, SAFE * h)
    split = pad + 0.36 * (w - 2.0 * pad)
    left, right = split - 2.0 * pad, w - pad - split
    texts = [
        _text(label.number, (pad, 0.62 * h), room=left, largest=0.52 * h, weight=800),
        _text(label.also or "Ballast", (pad, h - pad), room=left, largest=0.14 * h),
        _text(label.name, (split, pad + 0.17 * h), room=right, largest=0.19 * h, weight=700),
        _text(label.pounds, (split, 0.66 * h), room=right, largest=0.36 * h, weight=800),
        _text(label.kilograms, (split, h - pad), room=right, largest=0.19 * h, weight=700),
    ]
    line = (
        f'<path d="M{split - pad:.2f} {pad:.2f}V{h - pad:.2f}" stroke="#000" stroke-width="0.4"/>'
    )
    return line + "".join(texts)


def _text(
    text: str, at: tuple[float, float], *, room: float, largest: float, weight: int = 400
) -> str:
    """One line, shrunk until it fits the room it has."""
    size = min(largest, room / (LETTER * max(1, len(text))))
    return (
        f'<text x="{at[0]:.2f}" y="{at[1]:.2f}" font-family="{FONT}" font-size="{size:.2f}" '
        f'font-weight="{weight}">{escape(text)}</text>'
    )
