"""One figure has one verdict: on sheet and bench, in plans and 'what if', on paper and as JSON.

Half a step for a figure read, 95 % for a computed or predicted one; whoever shows it asks the same
function, and these tests ask everybody who shows it.
"""

import re
from typing import Any

import pytest
from django.test import Client
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from cars.baselines.actions.own_targets import set_own_target
from cars.figures.judgement import FigureOutcome, worst
from cars.mechanics import CORNER_NAMES
from cars.models import Sheet, SheetTargetSource
from cars.sheets.prints import setup_sheet_html
from clubsetup.access.viewer import viewing_as
from tests.cars.garage import Garage, typed
from tests.cars.plans.evening import Evening, make_evening
from tests.examples import examples
from tests.markup import paper_of, plain, set_of
from tests.people import People

SHAPES = {"✓": "on target", "≈": "too close to tell", "▲": "off", "▼": "off"}
HEIGHTS = {f"ride-height.{corner}": corner for corner in CORNER_NAMES}
AIMED = ["cross.car", *HEIGHTS]
JUDGED = [*AIMED, "left-share.car"]
NAMES = {"cross.car": "Cross", "left-share.car": "Left side %", **HEIGHTS}
# Sixteenths off 2 1/4, 2 3/8, 2 1/4, 2 1/2, and half-pounds off pads with a cross near 52.
OFF = st.tuples(*[st.integers(-3, 3)] * 4)
PADS = st.tuples(*[st.integers(-8, 8)] * 4)
SIXTEENTHS = (36, 38, 36, 40)
POUNDS = (80.0, 76.0, 92.0, 75.0)


@pytest.fixture
def chief(client: Client, people: People) -> Client:
    client.force_login(people.chief)
    return client


def of_sheet(html: str) -> dict[str, str]:
    """From the page of a sheet, on which what is on target has no mark."""
    return {box: SHAPES[shape or "✓"] for box, (shape, _) in set_of(html).items()}


def of_boxes(text: str) -> dict[str, str]:
    """From a bench, or the page on which a sheet is typed: the shape beside each box."""
    text = plain(text)
    matches = re.findall(
        r'id="v-([\w-]+)"(?:(?!id="v-).)*?aria-hidden="true">\s*([✓≈▲▼])', text, re.DOTALL
    )
    return {name.replace("--", "."): SHAPES[shape] for name, shape in matches}


def of_figures(text: str) -> dict[str, str]:
    """From a table of predictions."""
    shapes = {}
    text = plain(text)
    for group in re.split(r"<thead>", text)[1:]:
        heading = re.search(r'scope="col">(\w+)<', group)
        for name, rest in re.findall(r'<th scope="row">([\w %]+)</th>(.*?)</tr>', group, re.DOTALL):
            shape = re.search(r'aria-hidden="true">([✓≈▲▼])', rest)
            if shape and heading:
                shapes[f"{heading[1]} {name}"] = SHAPES[shape[1]]
    return {
        box: shapes[said]
        for box, name in NAMES.items()
        if (said := f"{'Height' if box in HEIGHTS else 'Share'} {name}") in shapes
    }


def of_print(html: str) -> dict[str, str]:
    """From the setup sheet on paper, which marks what its page does."""
    cells = paper_of(html)
    return {box: SHAPES[cells[box].mark or "✓"] for box in JUDGED if cells[box].set}


def of_json(rows: list[dict[str, Any]]) -> dict[str, str]:
    return {row["box"]: row["outcome"] for row in rows if row["box"] in JUDGED}


def everywhere(client: Client, people: People, sheet: Sheet) -> dict[str, dict[str, str]]:
    """What everybody who shows the figures says of them."""
    page, api = f"/sheets/{sheet.pk}", f"/api/v1/sheets/{sheet.pk}"
    bench = "".join(
        client.get(f"{page}/bench/{step}/").content.decode() for step in ("ride-heights", "scales")
    )
    said = client.get(f"{api}/what-if?turns=0,0,0,0").json()
    boxes = [
        {"box": f"{each['measure']}.{each['spot']}", "outcome": each["outcome"]}
        for each in client.get(f"{api}/boxes").json()
    ]
    with viewing_as(people.chief.pk):
        paper = setup_sheet_html(sheet, people.chief)
    return {
        "sheet": of_sheet(client.get(f"{page}/").content.decode()),
        "sheet, boxes": of_boxes(client.get(f"{page}/readings").content.decode()),
        "bench": of_boxes(bench),
        "what if": of_figures(client.get(f"{page}/what-if").content.decode()),
        "what if, API": of_json(said["judged"]),
        "sheet, API": of_json(boxes),
        "print": of_print(paper),
    }


@settings(
    max_examples=examples(5),
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)
@given(OFF, PADS, st.sampled_from(["0", "1/64", "1/32", "1/16", "1/8"]))
@example((0, 0, 0, 0), (0, 0, 0, 0), "1/16")
@example((1, -1, 1, 0), (0, 0, 0, 0), "1/16")
@example((0, 0, 0, 0), (0, 4, 0, 0), "0")
def test_a_figure_that_was_read_has_one_verdict(
    chief: Client,
    people: People,
    evening: Evening,
    off: tuple[int, ...],
    pads: tuple[int, ...],
    tolerance: str,
) -> None:
    with viewing_as(people.chief.pk):
        evening.take(read(off, pads))
    allow(people, evening, tolerance)
    said = everywhere(chief, people, evening.sheet)
    wanted = {box: outcome for box, outcome in said["sheet"].items() if box in JUDGED}
    assert set(wanted) == set(JUDGED)
    for who, verdicts in said.items():
        assert {box: verdicts.get(box) for box in JUDGED} == wanted, who
    together = worst(FigureOutcome(wanted[box]) for box in AIMED)
    plans = chief.get(f"/api/v1/sheets/{evening.sheet.pk}/turn-plans").json()
    assert plans["outcome"] == together
    text = chief.get(f"/sheets/{evening.sheet.pk}/turn").content.decode()
    assert ("on target as read. Nothing needs turning." in text) is (together == "on target")
    assert ("too close to tell as read" in text) is (together == "too close to tell")


def read(off: tuple[int, ...], pads: tuple[int, ...]) -> dict[str, str]:
    heights = {
        f"ride-height.{corner}": f"{(should + by) // 16} {(should + by) % 16}/16"
        for corner, should, by in zip(CORNER_NAMES, SIXTEENTHS, off, strict=True)
    }
    weights = {
        f"weight.{corner}": f"{should + by / 2:g}"
        for corner, should, by in zip(CORNER_NAMES, POUNDS, pads, strict=True)
    }
    return heights | weights


def allow(people: People, evening: Evening, tolerance: str) -> None:
    """The team's own ride heights with this tolerance, which the bench is worked towards."""
    measure = evening.measures["ride-height"]
    with viewing_as(people.chief.pk):
        SheetTargetSource.objects.get_or_create(sheet=evening.sheet, team=people.team)
        for corner, should in zip(CORNER_NAMES, SIXTEENTHS, strict=True):
            set_own_target(
                by=people.chief,
                car=evening.garage.car,
                measure=measure,
                spot=corner,
                target=typed(measure, f"{should // 16} {should % 16}/16"),
                tolerance=typed(measure, tolerance),
                surface="paved",
                reason="As ever.",
            )


def test_a_prediction_has_one_verdict_with_the_reach_that_is_shown(
    chief: Client, people: People, evening: Evening
) -> None:
    api = f"/api/v1/sheets/{evening.sheet.pk}"
    for plan in chief.get(f"{api}/turn-plans").json()["plans"]:
        turns = ",".join(f"{turns:g}" for turns in plan["prediction"]["turns"].values())
        asked = chief.get(f"{api}/what-if?turns={turns}").json()
        assert asked["judged"] == plan["prediction"]["judged"]
        page = chief.get(f"/sheets/{evening.sheet.pk}/what-if?turns={turns}").content.decode()
        assert of_figures(page) == of_json(asked["judged"])
        aimed = {row["box"]: row for row in asked["judged"] if row["box"] in AIMED}
        for row in aimed.values():
            off = abs(row["value"] - row["target"])
            sure = off + row["reach"] <= row["tolerance"]
            lost = off - row["reach"] > row["tolerance"]
            wanted = "on target" if sure else "off" if lost else "too close to tell"
            assert row["outcome"] == wanted
        assert aimed["cross.car"]["reach"] == pytest.approx(1.96 * 100 * asked["u_cross"], rel=1e-4)
        assert plan["outcome"] == worst(FigureOutcome(row["outcome"]) for row in aimed.values())
        assert plan["reached"] is (plan["outcome"] == "on target")


def test_a_plan_that_may_as_well_miss_does_not_reach_its_targets(
    chief: Client, people: People, garage: Garage
) -> None:
    """Pads of half a pound leave cross open by more than the tolerance allows."""
    with viewing_as(people.chief.pk):
        evening = make_evening(garage, people.chief, read=False)
        evening.take(read((0, 0, 0, 0), (0, -8, 0, 0)))
    text = chief.get(f"/sheets/{evening.sheet.pk}/turn").content.decode()
    assert "reaches every target" not in text
    assert "too close to tell: weigh and measure again" in text
    (first, *_) = chief.get(f"/api/v1/sheets/{evening.sheet.pk}/turn-plans").json()["plans"]
    assert first["reached"] is False


def test_a_share_is_computed_and_may_be_off_by_more_than_it_seems(
    chief: Client, people: People, garage: Garage
) -> None:
    """Cross 0.02 % inside its tolerance, on pads of half a pound each (+- 0.09 %)."""
    with viewing_as(people.chief.pk):
        evening = make_evening(garage, people.chief, read=False)
        evening.take(
            {"weight.LF": "80", "weight.RF": "78", "weight.LR": "91.5", "weight.RR": "73.5"}
        )
    (cross,) = (
        each
        for each in chief.get(f"/api/v1/sheets/{evening.sheet.pk}/boxes").json()
        if each["measure"] == "cross"
    )
    assert cross["outcome"] == "too close to tell"
    text = chief.get(f"/sheets/{evening.sheet.pk}/").content.decode()
    assert '<span class="reach">± 0.1</span>' in text
