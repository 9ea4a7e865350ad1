"""Pictures of how a run felt: where the car goes in a left corner, the hands, the steering.

Drawn so that a child says it without reading. The car stands in a corner of 96 by 72, turned
through `lean` degrees, its front wheels through `steered`; the line behind it is the way it came.
"""

from collections.abc import Mapping
from functools import cache
from typing import NamedTuple

from django.utils.safestring import SafeString, mark_safe

from cars.models import Feel
from clubsetup.plots.svg import GREY, INK, WHITE, Attribute, drawing, element

EDGE_OF_TRACK = "#999"
CORNER = (
    ("edge", "M92 72V44A40 40 0 0 0 52 4H0"),
    ("edge", "M52 72V52A12 12 0 0 0 40 40H0"),
    ("want", "M72 72V46A26 26 0 0 0 46 20H0"),
)


def _line(colour: str = INK, width: float = 1.5, **more: str) -> dict[str, Attribute]:
    return {"fill": "none", "stroke": colour, "stroke_width": width, **more}


# As paper has them, which knows no style sheet inside a drawing; a page's style sheet is over them.
ON_PAPER: dict[str, dict[str, Attribute]] = {
    "edge": _line(EDGE_OF_TRACK),
    "want": _line(GREY, stroke_dasharray="3 3"),
    **dict.fromkeys(("came", "axle"), _line()),
    "body": _line() | {"fill": WHITE},
    "rim": _line(width=4),
    "spoke": _line(GREY, 2.5),
    "ahead": _line(GREY, 2),
    "arc light": _line(),
    "arc good": _line(width=4),
    "arc heavy": _line(width=8.5),
}


def _part(tag: str, class_: str, **more: Attribute) -> str:
    return element(tag, "", {**ON_PAPER.get(class_, {"fill": INK}), **more}, class_=class_)


class CarInCorner(NamedTuple):
    """Where it is and how it points."""

    came: str
    x: int
    y: int
    lean: int
    steered: int


BALANCE = {
    ("entry", "pushes"): CarInCorner("M72 72Q73 60 77 52", 79, 40, 4, -34),
    ("entry", "turns"): CarInCorner("M72 72V54", 71, 42, -8, -12),
    ("entry", "loose"): CarInCorner("M72 72V56", 70, 42, -46, 24),
    ("middle", "pushes"): CarInCorner("M72 72V50Q74 40 78 34", 76, 24, -22, -34),
    ("middle", "turns"): CarInCorner("M72 72V46Q71 38 68 34", 64, 27, -45, -12),
    ("middle", "loose"): CarInCorner("M72 72V46Q71 38 69 34", 63, 28, -92, 26),
    ("exit", "pushes"): CarInCorner("M72 72V46Q68 24 50 14", 38, 11, -72, -34),
    ("exit", "turns"): CarInCorner("M72 72V46A26 26 0 0 0 46 20", 34, 20, -90, -6),
    ("exit", "loose"): CarInCorner("M72 72V46A26 26 0 0 0 48 20", 34, 21, -134, 28),
}
# How far the mark on the wheel's rim stands from straight ahead, degrees.
HANDS = {"right": 35, "straight": 0, "bit-left": -35, "far-left": -95}
# Half the width of the arrow's tip, and its length; how thick the arrow is says the style sheet.
STEERING = {"light": (4.0, 5.4), "good": (6.5, 8.8), "heavy": (8.5, 11.5)}
CAR_BODY = "M-3 -15H3L4.5 -4 5.5 12H-5.5L-4.5 -4z"
AXLES = "M-8 -8H8M-8 9H8"


@cache
def picture_of(question: str, answer: str) -> SafeString:
    """The picture of one answer to one of the five questions."""
    if question == "hands":
        inside, width, height = _wheel(HANDS[answer]), 60, 60
    elif question == "steering":
        inside, width, height = _arrow(answer, *STEERING[answer]), 60, 60
    else:
        inside, width, height = _corner(BALANCE[question, answer]), 96, 72
    wheel = " wheel" if width == height else ""
    svg = drawing(inside, width=width, height=height, class_=f"feel{wheel}")
    return mark_safe(svg)  # noqa: S308 (made of numbers and constants alone)


def _corner(car: CarInCorner) -> list[str]:
    paths = [_part("path", name, d=d) for name, d in CORNER]
    return [*paths, _part("path", "came", d=car.came), _car(car)]


def _car(car: CarInCorner) -> str:
    parts = [
        _part("path", "axle", d=AXLES),
        _part("path", "body", d=CAR_BODY),
        *(_tyre(x, -12, 4, 8, f"rotate({car.steered} {x + 2} -8)") for x in (-10, 6)),
        *(_tyre(x, 4.5, 4.5, 9) for x in (-10.5, 6)),
    ]
    return element("g", parts, transform=f"translate({car.x} {car.y}) rotate({car.lean})")


def _tyre(x: float, y: float, width: float, height: float, turned: str | None = None) -> str:
    return _part("rect", "tyre", x=x, y=y, width=width, height=height, rx=1, transform=turned)


def _wheel(turned: int) -> list[str]:
    turning = [
        _part("path", "spoke", d="M9 30H51M30 30V51"),
        _part("rect", "rim-mark", x=26, y=3, width=8, height=11),
    ]
    return [
        _part("circle", "rim", cx=30, cy=30, r=22),
        element("g", turning, transform=f"rotate({turned} 30 30)"),
        _part("path", "ahead", d="M30 0v3"),
    ]


def _arrow(steering: str, half: float, length: float) -> list[str]:
    tip = f"M{11 - half} 33H{11 + half}L11 {33 + length}z"
    return [
        _part("circle", "rim", cx=35, cy=34, r=13),
        _part("path", "spoke", d="M23 34H47M35 34V46"),
        _part("path", f"arc {steering}", d="M11 34A24 24 0 0 1 41 10.8"),
        _part("path", "tip", d=tip),
    ]


class Question(NamedTuple):
    """One thing asked of a run, with its answers as `look/choice.html` takes them."""

    name: str
    legend: str
    options: list[dict[str, object]]


CHOICES = {
    "entry": Feel.Balance,
    "middle": Feel.Balance,
    "exit": Feel.Balance,
    "hands": Feel.Hands,
    "steering": Feel.Steering,
}
LEGENDS = {
    "entry": "Entry",
    "middle": "Middle",
    "exit": "Exit",
    "hands": "Hands in the middle",
    "steering": "Steering",
}
# As a child is asked who answers alone.
TO_DRIVER = {
    "entry": "Going into the corner",
    "middle": "In the middle",
    "exit": "Coming out",
    "hands": "Your hands in the middle",
    "steering": "The steering",
}


def questions() -> list[Question]:
    """Entry, middle and exit; where the hands were; how the steering was."""
    return _asked(LEGENDS)


def questions_to_driver() -> list[Question]:
    """The same, in a child's words."""
    return _asked(TO_DRIVER)


def _asked(legends: Mapping[str, str]) -> list[Question]:
    return [
        Question(
            name,
            legend,
            [
                {"value": value, "label": label.lower(), "picture": picture_of(name, value)}
                for value, label in CHOICES[name].choices
            ],
        )
        for name, legend in legends.items()
    ]
