"""The car from above: which figures stand where on the drawing."""

from dataclasses import dataclass, replace
from functools import lru_cache
from html import escape

from cars.catalogue.keys import Key
from cars.mechanics import CORNER_NAMES
from cars.sheets.presenters.sheet_view import SheetView
from clubsetup.printing.lettering import LEADING, fit
from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.table import unit_of

NOTHING = "–"
USUAL_SIZE = 17
ROOM = 106  # beside a tyre, and between two
UNDER = 19  # from a name down to its figure


@dataclass(frozen=True, slots=True)
class DrawnFigure:
    """One figure with its name, placed in the drawing's own units (420 by 510, y down)."""

    name: str
    x: int
    y: int
    anchor: str = "start"
    text: str = NOTHING
    state: str = ""
    shape: str = ""


def svg(figure: DrawnFigure) -> str:
    """The figure as SVG text, its name above it. Written here for speed, as the sheet's boxes."""
    shape = (
        f' <tspan class="car-shape" font-weight="700">{figure.shape}</tspan>'
        if figure.shape
        else ""
    )
    return (
        f'<g class="car-figure {figure.state}" text-anchor="{figure.anchor}">'
        f'<text class="car-name" x="{figure.x}" y="{figure.y}" font-size="13" fill="#444">'
        f"{figure.name}{shape}</text>"
        f'<text x="{figure.x}" y="{figure.y + UNDER}" font-size="{_size(figure.text)}"'
        f' font-weight="{_weight(figure)}">'
        f"{escape(figure.text)}</text></g>"
    )


def _weight(figure: DrawnFigure) -> int:
    """Only what is off, too close or to be taken again is heavy."""
    return 600 if figure.state in ("bad", "close", "again") else 400


def _short(shown: str) -> str:
    """A figure between the tyres: there is no room for 'about'."""
    return shown.replace("about ", "≈ ", 1)


@lru_cache(maxsize=4096)
def _size(text: str) -> str:
    """Letters small enough for the place beside a tyre or between two."""
    size = fit(text, room=ROOM, largest=USUAL_SIZE, height=UNDER * LEADING).size
    return f"{size:.1f}".removesuffix(".0")


@dataclass(slots=True)
class Drawing:
    """Everything the drawing carries."""

    figures: list[DrawnFigure]


AT_CORNERS = (
    ("weight", "Weight"),
    ("ride-height", "Height"),
    ("pressure", "Cold"),
    ("circumference", "Roll-out"),
)
# The names stand above the left and right tyres, clear of body and axles.
CORNERS_AT = {"LF": (4, 52), "RF": (308, 52), "LR": (4, 352), "RR": (308, 352)}
CORNER_STEP = 38
IN_MIDDLE = (
    ("cross", "Cross"),
    ("left-share", "Left side %"),
    ("rear-share", "Rear"),
    ("total-weight", "Total"),
    ("lead", "Lead"),
)
MIDDLE_AT, MIDDLE_STEP = (210, 166), 39
ACROSS = (
    ("stagger", "front", "Stagger", 210, 14),
    ("stagger", "rear", "Stagger", 210, 478),
)

# A figure to be taken again is marked as one that is off is.
MARKED = ("good", "bad", "close", "again")


def _places() -> list[tuple[Key, DrawnFigure]]:
    places = [
        (Key(slug, spot), DrawnFigure(name, x, y + place * CORNER_STEP))
        for spot in CORNER_NAMES
        for x, y in [CORNERS_AT[spot]]
        for place, (slug, name) in enumerate(AT_CORNERS)
    ]
    x, y = MIDDLE_AT
    places += [
        (Key(slug, "car"), DrawnFigure(name, x, y + place * MIDDLE_STEP, "middle"))
        for place, (slug, name) in enumerate(IN_MIDDLE)
    ]
    return places + [
        (Key(slug, spot), DrawnFigure(name, x, y, "middle")) for slug, spot, name, x, y in ACROSS
    ]


PLACES = _places()


def drawing_of(view: SheetView) -> Drawing:
    cold = unit_of(Kind.PRESSURE, view.units.for_kind(Kind.PRESSURE)).suffix
    figures = []
    for key, place in PLACES:
        box = view.boxes.get(key)
        # A pressure says in its name what it is counted in: 'Cold psi'.
        in_name = cold if key.measure == "pressure" else ""
        named = replace(place, name=f"{place.name}{in_name}")
        if box is None or not box.is_taken:
            figures.append(named)
            continue
        judged = box.state if box.state in MARKED and not box.wrong else ""
        shape = box.shape if judged else ""
        shown = _short(box.shown.removesuffix(in_name))
        text = f"({shown})" if box.is_carried and not box.is_retake else shown
        figures.append(replace(named, text=text, state=judged, shape=shape))
    return Drawing(figures)
