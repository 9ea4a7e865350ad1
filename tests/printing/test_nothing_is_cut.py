"""Nothing printed is ever cut: every document, with the longest that may stand on it.

Proved from the glyphs of the finished PDF (tests/printing/glyphs.py): none stands on another, off
the paper, on a line or out of the cell that it belongs to, and every text of the HTML is there
whole.
"""

from collections.abc import Callable
from dataclasses import asdict
from datetime import timedelta
from typing import Any

import pytest
from django.utils import timezone

from cars.catalogue.queries import catalogue
from cars.handover.queries.goods import goods_of, seasons_of
from cars.handover.queries.package import make_package
from cars.handover.queries.ticks import ticks_of
from cars.models import Car, Handover
from clubsetup.access.models import User
from clubsetup.access.viewer import viewing_as
from clubsetup.printing.registry import Document, all_documents
from clubsetup.printing.render import Source
from clubsetup.quantities.units import Units
from events.printing.presenters.label_sheets import SHEETS
from tests.printing.glyphs import faults
from tests.printing.longest import Longest, Text, make_longest, solid, spoken


def _offered(all_: Longest) -> tuple[Any, User]:
    """Of the car with everything ticked."""
    by = all_.people.chief
    with viewing_as(by.pk):
        car = Car.objects.select_related("team__club", "chassis", "race_class").get(pk=all_.car.pk)
        seasons = seasons_of(car)
        goods = goods_of(car, "all", season=seasons[0] if seasons else None)
        ticked = [tick.pk for tick in ticks_of(goods, catalogue())]
        row = Handover.objects.create(
            car=car,
            team=car.team,
            by=by,
            history="all",
            package=make_package(goods, ticked),
            digest="0" * 64,
            expires_at=timezone.now() + timedelta(days=1),
        )
    return row, by


# What each document is printed of, and by whom.
CASES: dict[str, Callable[[Longest], tuple[Any, User]]] = {
    "sheet": lambda all_: (all_.sheet, all_.people.chief),
    "bench-sheet": lambda all_: (all_.sheet, all_.people.chief),
    "car-bench-sheet": lambda all_: (all_.car, all_.people.chief),
    "comparison": lambda all_: (all_.comparison, all_.people.chief),
    "run-card": lambda all_: (all_.car, all_.people.chief),
    "what-to-try": lambda all_: (all_.car, all_.people.chief),
    "car-season": lambda all_: (all_.car, all_.people.chief),
    "car-book": lambda all_: (all_.car, all_.people.chief),
    "school-day": lambda all_: (all_.school_day, all_.people.coach),
    "school-day-cars": lambda all_: (all_.school_day, all_.people.coach),
    "handover": _offered,
    "trailer-sheet": lambda all_: (all_.entry, all_.people.chief),
    "tech-card": lambda all_: (all_.entry, all_.people.official),
    "tech-cards": lambda all_: (all_.event, all_.people.official),
    "weigh-in-list": lambda all_: (all_.event, all_.people.official),
    "record-book": lambda all_: (all_.event, all_.people.official),
    **{f"entry-labels-{s.key}": lambda all_: (all_.entry, all_.people.chief) for s in SHEETS},
    **{f"car-labels-{s.key}": lambda all_: (all_.car, all_.people.chief) for s in SHEETS},
}


def documents() -> dict[str, Document]:
    """Those of the service, without the ones that tests add."""
    found = {document.key: document for document in all_documents()}
    return {key: one for key, one in found.items() if not one.html.__module__.startswith("tests.")}


def test_every_document_has_a_case() -> None:
    assert set(CASES) == set(documents())


@pytest.mark.parametrize(
    ("text", "units", "paper"),
    [
        pytest.param(solid, Units.imperial(), "letter", id="solid-us-letter"),
        pytest.param(solid, Units.metric(), "A4", id="solid-metric-a4"),
        pytest.param(spoken, Units.metric(), "letter", id="spoken-metric-letter"),
    ],
)
def test_nothing_leaves_its_place_on_any_document(
    db: None,
    monkeypatch: pytest.MonkeyPatch,
    settings: Any,
    text: Text,
    units: Units,
    paper: str,
) -> None:
    settings.PRINT_PAPER = paper
    monkeypatch.setenv("CLUBSETUP_ADDRESS", "https://club.example/")
    everything = make_longest(text)
    found = {}
    for key, document in documents().items():
        subject, viewer = CASES[key](everything)
        viewer.preferred_units = asdict(units)
        with viewing_as(viewer.pk):
            html = document.page(document.subject(subject.pk), viewer)
        if wrong := faults(Source(html, document.styles)):
            found[key] = wrong[:20]
    assert found == {}


# The proof can fail


CELL = (
    "<html><style>@page {{ margin: 20mm }} td, div {{ border: 1pt solid #000; {css} }}</style>"
    "<table><tr><td>{text}</td><td>beside</td></tr></table><div>{text}</div></html>"
)
LONG = "circumference 33 27/32 in"


def wrong(css: str, text: str = LONG) -> str:
    return "\n".join(faults(Source(CELL.format(css=css, text=text), ())))


def test_a_cell_that_grows_is_no_fault() -> None:
    assert wrong("") == ""
    assert wrong("width: 20mm; overflow-wrap: anywhere", "W" * 60) == ""


@pytest.mark.parametrize(
    ("css", "said"),
    [
        ("width: 8mm; white-space: nowrap; overflow: hidden; table-layout: fixed", "lacks"),
        ("width: 20mm; height: 3mm; line-height: 6mm; overflow: hidden", "lacks"),
        ("width: 20mm; line-height: 0.3", "stand on each other"),
        ("text-indent: -8mm", "stands out of"),
        ("position: relative; left: -19mm", "off what can be printed"),
        ("display: none", "times in the print"),
        ("width: 5mm; white-space: nowrap", "crosses a line"),
    ],
)
def test_what_is_cut_or_covered_is_found(css: str, said: str) -> None:
    assert said in wrong(css)


def test_a_place_too_narrow_on_the_setup_sheet_is_found(db: None) -> None:
    everything = make_longest(spoken)
    subject, viewer = CASES["sheet"](everything)
    document = documents()["sheet"]
    with viewing_as(viewer.pk):
        html = document.page(document.subject(subject.pk), viewer)
    narrow = (
        "<style>.figs .set .fg { display: block; height: 0.05in; overflow: hidden } </style></head>"
    )
    assert faults(Source(html.replace("</head>", narrow), document.styles))
