"""The car from above: which figures stand where on the drawing."""

from dataclasses import dataclass, replace

from cars.entries import Key
from cars.mechanics import CORNER_NAMES
from cars.queries.sheet_view import SheetView

NOTHING = "–"


@dataclass(frozen=True, slots=True)
class Figure:
    """One figure with its name, placed in the drawing's own units (420 by 510, y down)."""

    name: str
    x: str
    y: str
    below: str  # where the figure stands under its name
    anchor: str = "start"
    text: str = NOTHING
    state: str = ""
    shape: str = ""


@dataclass(slots=True)
class Drawing:
    """Everything the drawing carries."""

    figures: list[Figure]

    @property
    def has_figures(self) -> bool:
        """At least one figure was taken."""
        return any(figure.text != NOTHING for figure in self.figures)


AT_CORNERS = (
    ("weight", "Weight"),
    ("ride-height", "Height"),
    ("pressure", "Cold"),
    ("circumference", "Round"),
)
# The names stand above the left and right tyres, clear of body and axles.
CORNERS_AT = {"LF": (4, 52), "RF": (308, 52), "LR": (4, 352), "RR": (308, 352)}
CORNER_STEP = 38
IN_MIDDLE = (
    ("cross", "Cross"),
    ("left-share", "Left"),
    ("rear-share", "Rear"),
    ("total-weight", "Total"),
    ("lead", "Lead"),
)
UNDER = 19
MIDDLE_AT, MIDDLE_STEP = (210, 166), 39
ACROSS = (
    ("stagger", "front", "Stagger", 210, 14),
    ("stagger", "rear", "Stagger", 210, 478),
)


def _at(name: str, x: int, y: int, anchor: str = "start") -> Figure:
    # As text: the template engine would write a number the way the reader's language does.
    return Figure(name, str(x), str(y), str(y + UNDER), anchor)


def _places() -> list[tuple[Key, Figure]]:
    found = [
        (Key(slug, spot), _at(name, x, y + place * CORNER_STEP))
        for spot in CORNER_NAMES
        for x, y in [CORNERS_AT[spot]]
        for place, (slug, name) in enumerate(AT_CORNERS)
    ]
    x, y = MIDDLE_AT
    found += [
        (Key(slug, "car"), _at(name, x, y + place * MIDDLE_STEP, "middle"))
        for place, (slug, name) in enumerate(IN_MIDDLE)
    ]
    return found + [
        (Key(slug, spot), _at(name, x, y, "middle")) for slug, spot, name, x, y in ACROSS
    ]


PLACES = _places()


def drawing_of(view: SheetView) -> Drawing:
    """The drawing of a sheet."""
    figures = []
    for key, place in PLACES:
        box = view.boxes.get(key)
        if box is None or not box.is_taken:
            figures.append(place)
            continue
        judged = box.state if box.state in ("good", "bad", "close") else ""
        shape = box.shape if judged else ""
        figures.append(replace(place, text=box.shown, state=judged, shape=shape))
    return Drawing(figures)
