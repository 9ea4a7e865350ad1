"""The car from above: which figures stand at which wheel, and the sums in words under it."""

from dataclasses import dataclass, replace
from functools import lru_cache
from html import escape

from cars.catalogue.keys import Key
from cars.mechanics import CORNER_NAMES
from cars.sheets.presenters.sheet_view import SheetView
from clubsetup.plots.marks import PATHS
from clubsetup.plots.svg import GREY
from clubsetup.printing.lettering import LEADING, fit
from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.table import unit_of
from clubsetup.site.marks import OF_SIGN

NOTHING = "–"
USUAL_SIZE = 22
NAME_SIZE = 16
ROOM = 104  # beside a tyre
UNDER = 21  # from a name down to its figure
MARK = 0.75  # of the square of 16 by 16 that marks are drawn in


@dataclass(frozen=True, slots=True)
class DrawnFigure:
    """One figure with its name, placed in the drawing's own units (412 by 380, y down)."""

    name: str
    x: int
    y: int
    anchor: str = "start"
    text: str = NOTHING
    state: str = ""
    shape: str = ""


@dataclass(frozen=True, slots=True)
class Sum:
    """A figure of the whole car or of an axle, said under the drawing."""

    name: str
    text: str
    state: str = ""
    shape: str = ""


def svg(figure: DrawnFigure) -> str:
    """The figure as SVG text, its name above it. Written here for speed, as the sheet's boxes."""
    return (
        f'<g class="car-figure {figure.state}" text-anchor="{figure.anchor}">'
        f'<text class="car-name" x="{figure.x}" y="{figure.y}" font-size="{NAME_SIZE}"'
        f' fill="{GREY}">{escape(figure.name)}</text>{_mark(figure)}'
        f'<text x="{figure.x}" y="{figure.y + UNDER}" font-size="{_size(figure.text)}"'
        f' font-weight="{600 if figure.state else 400}">'
        f"{escape(figure.text)}</text></g>"
    )


def _mark(figure: DrawnFigure) -> str:
    """The mark of its state, on the far side of its name."""
    if not figure.shape:
        return ""
    beside = round(len(figure.name) * NAME_SIZE * 0.5) + 8
    x = figure.x + beside if figure.anchor == "start" else figure.x - beside - 12
    path = PATHS[OF_SIGN[figure.shape]]
    return (
        f'<path class="car-mark" transform="translate({x} {figure.y - 11}) scale({MARK})"'
        f' fill-rule="evenodd" d="{path}"/>'
    )


@lru_cache(maxsize=4096)
def _size(text: str) -> str:
    """Letters small enough for the place beside a tyre."""
    size = fit(text, room=ROOM, largest=USUAL_SIZE, height=USUAL_SIZE * LEADING).size
    return f"{size:.1f}".removesuffix(".0")


@dataclass(slots=True)
class Drawing:
    """Everything the drawing carries, and what is said under it."""

    figures: list[DrawnFigure]
    sums: list[Sum]


AT_CORNERS = (
    ("weight", "weight"),
    ("ride-height", "height"),
    ("pressure", "cold"),
)
KINDS = {"weight": Kind.MASS, "ride-height": Kind.LENGTH, "pressure": Kind.PRESSURE}
# The names stand outside the left and right tyres, clear of body and axles.
CORNERS_AT = {
    "LF": (108, 62, "end"),
    "RF": (312, 62, "start"),
    "LR": (108, 308, "end"),
    "RR": (312, 308, "start"),
}
CORNER_STEP = 42
SUMS = (
    (Key("cross", "car"), "cross"),
    (Key("left-share", "car"), "left side"),
    (Key("total-weight", "car"), "total"),
    (Key("lead", "car"), "lead"),
)

# A figure to be taken again is marked as one that is off is.
MARKED = ("bad", "close", "again")

PLACES = [
    (Key(slug, spot), DrawnFigure(name, x, y + place * CORNER_STEP, anchor))
    for spot in CORNER_NAMES
    for x, y, anchor in [CORNERS_AT[spot]]
    for place, (slug, name) in enumerate(AT_CORNERS)
]

# The boxes of which words are needed here.
DRAWN = frozenset(key for key, _ in (*PLACES, *SUMS))


def drawing_of(view: SheetView) -> Drawing:
    """The figures at the wheels, each with its unit in its name, and the sums that are taken."""
    units = {slug: unit_of(kind, view.units.for_kind(kind)).suffix for slug, kind in KINDS.items()}
    figures = []
    for key, place in PLACES:
        unit = units[key.measure]
        named = replace(place, name=f"{place.name}{unit}")
        told = _told(view, key, unit)
        figures.append(
            replace(named, text=told.text, state=told.state, shape=told.shape) if told else named
        )
    sums = [replace(told, name=name) for key, name in SUMS if (told := _told(view, key))]
    return Drawing(figures, sums)


def _told(view: SheetView, key: Key, unit: str = "") -> Sum | None:
    """The figure as it is written here, without the unit that its name says."""
    box = view.boxes.get(key)
    if box is None or not box.is_taken:
        return None
    state = box.state if box.state in MARKED and not box.wrong else ""
    # There is no room for 'about'.
    shown = box.shown.replace("about ", "~", 1).removesuffix(unit)
    text = f"({shown})" if box.is_carried and not box.is_retake else shown
    return Sum("", text, state, box.shape if state else "")
