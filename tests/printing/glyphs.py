"""Whether anything on a print is cut, proved from where its glyphs stand in the PDF.

The places that text belongs to (cells, boxes with an edge, boxes that cut) come from the layout,
what they should say from the HTML, and what they do say from the glyphs of the finished PDF, as
pdfplumber finds them, whatever was clipped or covered. Each fault is a sentence.
"""

import io
from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from html.parser import HTMLParser
from typing import Any
from unicodedata import normalize

import pdfplumber

from clubsetup.printing.render import Source, lay_out

PT = 0.75  # points to a CSS pixel
EDGE = 4.0 * 72 / 25.4  # what printers leave white at most, in points
NEAR = 0.6  # points that a glyph's advance may stand out of its ink
CUTTING = ("hidden", "clip", "scroll", "auto")


@dataclass(frozen=True)
class Rect:
    """On a page, in points from its top left."""

    x0: float
    top: float
    x1: float
    bottom: float

    def holds(self, x: float, y: float) -> bool:
        return self.x0 <= x <= self.x1 and self.top <= y <= self.bottom


@dataclass(frozen=True)
class Glyph:
    """A sign with the box of its type: as wide as it moves the pen, from descent to ascent."""

    text: str
    rect: Rect
    size: float

    @property
    def middle(self) -> tuple[float, float]:
        r = self.rect
        return (r.x0 + r.x1) / 2, (r.top + r.bottom) / 2


@dataclass(frozen=True)
class Place:
    """A cell or box of the layout, and the text that it holds."""

    rect: Rect
    text: str


@dataclass
class Sheet:
    """One page of the finished print."""

    number: int
    width: float
    height: float
    glyphs: list[Glyph]
    rules: list[Rect]
    places: list[Place]


def sheets(source: Source) -> list[Sheet]:
    """The pages with their glyphs, rules and places."""
    document = lay_out(source)
    with pdfplumber.open(io.BytesIO(document.write_pdf())) as pdf:
        return [
            Sheet(
                number,
                float(page.width),
                float(page.height),
                [_glyph(char) for char in page.chars if char["text"].strip()],
                list(_rules(page)),
                list(_places(laid._page_box)),
            )
            for number, (page, laid) in enumerate(zip(pdf.pages, document.pages, strict=True), 1)
        ]


def _glyph(char: dict[str, Any]) -> Glyph:
    rect = Rect(char["x0"], char["top"], char["x1"], char["bottom"])
    return Glyph(char["text"], rect, char["bottom"] - char["top"])


def _rules(page: Any) -> Iterator[Rect]:
    """Lines as drawn, and the edges of boxes."""
    for line in page.lines:
        yield Rect(line["x0"], line["top"], line["x1"], line["bottom"])
    for box in page.rects:
        x0, top, x1, bottom = box["x0"], box["top"], box["x1"], box["bottom"]
        if box["fill"] and not _dark(box["non_stroking_color"]):
            continue  # a shade behind text; where it is a border too, the border says so itself
        yield from (Rect(x0, top, x1, top), Rect(x0, bottom, x1, bottom))
        yield from (Rect(x0, top, x0, bottom), Rect(x1, top, x1, bottom))


def _dark(colour: Any) -> bool:
    values = colour if isinstance(colour, (tuple, list)) else (colour or 0,)
    return bool(values) and max(values) < 0.8


def _places(root: Any) -> Iterator[Place]:
    for box in root.descendants():
        kind = type(box).__name__
        if kind in ("LineBox", "TextBox", "InlineBox") or "Replaced" in kind:
            continue
        inside = list(box.descendants())
        if any("Replaced" in type(one).__name__ for one in inside):
            continue  # a drawing's own letters are no text of the layout
        if kind == "TableCellBox" or _has_edge(box) or box.style["overflow"] in CUTTING:
            text = "".join(one.text for one in inside if type(one).__name__ == "TextBox")
            x, y = box.border_box_x() * PT, box.border_box_y() * PT
            rect = Rect(x, y, x + box.border_width() * PT, y + box.border_height() * PT)
            yield Place(rect, text)


def _has_edge(box: Any) -> bool:
    sides = ("left", "right", "top", "bottom")
    if not hasattr(box, "border_left_width"):
        return False
    return all(getattr(box, f"border_{side}_width") for side in sides)


# The faults


def faults(source: Source) -> list[str]:
    """Everything that is wrong with where its text stands; empty where nothing is."""
    pages = sheets(source)
    found: list[str] = []
    for page in pages:
        found += [f"page {page.number}: {fault}" for fault in _of_page(page)]
    return found + missing(source.html, pages)


def _of_page(page: Sheet) -> Iterator[str]:
    yield from _off_the_paper(page)
    yield from _over_each_other(page)
    yield from _crossing(page)
    for place in page.places:
        yield from _leaving(place, page)


def _off_the_paper(page: Sheet) -> Iterator[str]:
    inside = Rect(EDGE, EDGE, page.width - EDGE, page.height - EDGE)
    for glyph in page.glyphs:
        r = glyph.rect
        if not (inside.holds(r.x0, r.top) and inside.holds(r.x1, r.bottom)):
            yield f"{glyph.text!r} at {_at(r)} is off what can be printed"


def _over_each_other(page: Sheet) -> Iterator[str]:
    for one, other in _near(page.glyphs):
        a, b, small = one.rect, other.rect, min(one.size, other.size)
        wide = min(a.x1, b.x1) - max(a.x0, b.x0)
        tall = min(a.bottom, b.bottom) - max(a.top, b.top)
        if wide > 0.2 * small and tall > 0.2 * small:
            yield f"{one.text!r} at {_at(a)} and {other.text!r} at {_at(b)} stand on each other"


def _near(glyphs: list[Glyph], grid: float = 24.0) -> Iterator[tuple[Glyph, Glyph]]:
    """Each pair that could touch, once."""
    cells: dict[tuple[int, int], list[int]] = defaultdict(list)
    seen: set[tuple[int, int]] = set()
    for n, glyph in enumerate(glyphs):
        for cell in _cells(glyph.rect, grid):
            for m in cells[cell]:
                if (m, n) not in seen:
                    seen.add((m, n))
                    yield glyphs[m], glyph
            cells[cell].append(n)


def _cells(r: Rect, grid: float) -> Iterator[tuple[int, int]]:
    for column in range(int(r.x0 // grid), int(r.x1 // grid) + 1):
        for row in range(int(r.top // grid), int(r.bottom // grid) + 1):
            yield column, row


def _crossing(page: Sheet) -> Iterator[str]:
    for rule in page.rules:
        wide, tall = rule.x1 - rule.x0, rule.bottom - rule.top
        if min(wide, tall) > 1.5:
            continue  # aslant: of a drawing
        upright = wide < tall
        crossed = [g for g in page.glyphs if (_cut_upright if upright else _cut_flat)(g, rule)]
        if crossed and not _strikes_out(crossed, rule):
            words = "".join(g.text for g in crossed[:12])
            yield f"{words!r} at {_at(crossed[0].rect)} crosses a line at {_at(rule)}"


def _cut_upright(glyph: Glyph, rule: Rect) -> bool:
    r, x = glyph.rect, (rule.x0 + rule.x1) / 2
    across = r.x0 + NEAR < x < r.x1 - NEAR
    return across and min(r.bottom, rule.bottom) - max(r.top, rule.top) > 0.3 * glyph.size


def _cut_flat(glyph: Glyph, rule: Rect) -> bool:
    r, y = glyph.rect, (rule.top + rule.bottom) / 2
    across = r.top + 0.2 * glyph.size < y < r.bottom - 0.2 * glyph.size
    return across and min(r.x1, rule.x1) - max(r.x0, rule.x0) > NEAR


def _strikes_out(glyphs: list[Glyph], rule: Rect) -> bool:
    """A line through a void figure is as long as the figure; a divider is longer."""
    x0, x1 = min(g.rect.x0 for g in glyphs), max(g.rect.x1 for g in glyphs)
    return abs(x0 - rule.x0) < 1.5 and abs(x1 - rule.x1) < 1.5 and rule.top == rule.bottom


def _leaving(place: Place, page: Sheet) -> Iterator[str]:
    """The glyphs in the place are those of its own text, and stand wholly within it."""
    here = [g for g in page.glyphs if place.rect.holds(*g.middle)]
    wanted, got = Counter(squeezed(place.text)), Counter(squeezed("".join(g.text for g in here)))
    if wanted != got:
        lost, strange = "".join((wanted - got).elements()), "".join((got - wanted).elements())
        yield (
            f"the place at {_at(place.rect)} of {place.text[:40]!r} lacks {lost[:20]!r} and holds "
            f"{strange[:20]!r} of another"
        )
    for glyph in here:
        r = glyph.rect
        if r.x0 < place.rect.x0 - NEAR or r.x1 > place.rect.x1 + NEAR:
            yield f"{glyph.text!r} at {_at(r)} stands out of its place at {_at(place.rect)}"


def missing(html: str, pages: Iterable[Sheet]) -> list[str]:
    """Each text of the HTML that is not whole in the print, as often as it should be.

    A page's foot may stand between two parts of a text that goes on over the page.
    """
    wanted = Counter(filter(None, map(squeezed, texts_of(html))))
    text = squeezed("".join("".join(g.text for g in page.glyphs) for page in pages))
    feet = _feet(pages)
    for foot in feet:
        text = text.replace(foot, "")
    return [
        f"{one[:60]!r} is {text.count(one)} times in the print and not {times}"
        for one, times in wanted.items()
        if text.count(one) < times
    ]


def _feet(pages: Iterable[Sheet]) -> list[str]:
    total = len(list(pages))
    return [squeezed(f"page {n} of {total}") for n in range(1, total + 1)]


def squeezed(text: str) -> str:
    """Without spaces, ligatures taken apart, in one case: what is compared."""
    return "".join(normalize("NFKD", text).split()).replace("\0", "").casefold()


class _Texts(HTMLParser):
    """The texts of a page's body, in order."""

    def __init__(self) -> None:
        super().__init__()
        self.hidden, self.found = 0, list[str]()

    def handle_starttag(self, tag: str, attrs: Any) -> None:
        self.hidden += tag in ("head", "style", "title")

    def handle_endtag(self, tag: str) -> None:
        self.hidden -= tag in ("head", "style", "title")

    def handle_data(self, data: str) -> None:
        if not self.hidden:
            self.found.append(data)


def texts_of(html: str) -> list[str]:
    """Every text that a page shows."""
    parser = _Texts()
    parser.feed(html)
    parser.close()
    return parser.found


def _at(r: Rect) -> str:
    return f"({r.x0:.0f}, {r.top:.0f})-({r.x1:.0f}, {r.bottom:.0f})"
