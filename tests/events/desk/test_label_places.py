"""Labels, measured on the PDF: every glyph stands in its own label, on its side of the divider."""

from itertools import cycle, islice

import pytest

from clubsetup.printing import lettering
from clubsetup.printing.render import Source
from events.printing.presenters.label_sheets import SHEETS, LabelSheet
from events.printing.presenters.labels import Label, sheets_of
from tests.printing.glyphs import Sheet, faults, sheets, squeezed

MM = 72 / 25.4
NUMBERS = ("7", "27", "777x", "WWWWWW", "88888W", "ЖЩШ@ŒM", "Ŵ@%8Mm")
NAMES = ("Robin", "W" * 40, "Anna-Liisa of the Meadow Lane Gate Keepers", "Щ" * 40, "é" * 40)
LABELS = [
    Label(number, name[:40], "1234.56 lb", "560.01 kg", also)
    for number, name, also in islice(zip(cycle(NUMBERS), cycle(NAMES), cycle(("", "M" * 40))), 35)
]


def source_of(sheet: LabelSheet) -> Source:
    body = "".join(sheets_of(LABELS, sheet))
    return Source(
        f"<html><body>{body}</body></html>", (f"events/printing/labels_{sheet.paper.lower()}.css",)
    )


def strays(sheet: LabelSheet, pages: list[Sheet]) -> list[str]:
    """Signs outside every label, and labels that do not say what they should."""
    found = []
    queue = iter(LABELS)
    for page, places in zip(pages, sheet.places(len(LABELS)), strict=True):
        unplaced = list(page.glyphs)
        for (x, y), label in zip(places, queue, strict=False):
            x0, y0, x1, y1 = (n * MM for n in (x, y, x + sheet.width, y + sheet.height))
            here = [g for g in unplaced if x0 <= g.rect.x0 and g.rect.x1 <= x1]
            here = [g for g in here if y0 <= g.rect.top and g.rect.bottom <= y1]
            unplaced = [g for g in unplaced if g not in here]
            (divider,) = [r for r in page.rules if x0 < r.x0 < x1 and y0 < r.top < y1]
            sides = [
                squeezed("".join(g.text for g in here if (g.rect.x1 <= divider.x0) is one))
                for one in (True, False)
            ]
            says = squeezed(label.name + label.pounds + label.kilograms)
            if sides != [squeezed(label.number + (label.also or "Ballast")), says]:
                found.append(f"{label.number} {label.name}: {sides}")
        found += [f"{g.text!r} stands in no label" for g in unplaced]
    return found


@pytest.mark.parametrize("sheet", SHEETS, ids=lambda sheet: sheet.key)
def test_no_text_crosses_a_divider_or_leaves_its_label(sheet: LabelSheet) -> None:
    source = source_of(sheet)
    assert strays(sheet, sheets(source)) == []
    assert faults(source) == []


def test_text_taken_for_narrower_than_it_is_would_be_found(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(lettering, "_width", lambda char: 0.5)
    source = source_of(SHEETS[0])
    assert strays(SHEETS[0], sheets(source))
    assert any("crosses a line" in fault for fault in faults(source))
