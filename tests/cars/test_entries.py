"""What is typed into boxes, and what stands in them for somebody with other units."""

import json
from contextlib import suppress
from decimal import Decimal

import pytest
from django.http import QueryDict
from hypothesis import given
from hypothesis import strategies as st

from cars.catalogue.keys import Key
from cars.catalogue.sync import read_catalogue
from cars.figures.box_entries import box_text, read_entry
from cars.sheets.pages.boxes import SEEN, changed_boxes
from clubsetup.access.errors import Invalid
from clubsetup.quantities.errors import QuantityError
from clubsetup.quantities.units import Units

STEPS, MEASURES = read_catalogue()
BY_SLUG = {measure.pk: measure for measure in MEASURES}
IMPERIAL, METRIC = Units.imperial(), Units.metric()
HEIGHT = BY_SLUG["ride-height"]


@given(st.integers(8, 220), st.sampled_from(["", " in", '"']))
def test_a_box_means_the_same_to_whoever_reads_it(sixteenths: int, unit: str) -> None:
    whole, part = divmod(sixteenths, 16)
    text = (f"{whole} {part}/16" if whole else f"{part}/16") + unit
    entry = read_entry(HEIGHT, Key("ride-height", "LF"), text, IMPERIAL)
    assert entry.quantity is not None
    for units in (IMPERIAL, METRIC):
        stands = box_text(HEIGHT, entry.text, entry.quantity.unit, units)
        again = read_entry(HEIGHT, Key("ride-height", "LF"), stands, units)
        assert again.quantity is not None
        assert again.quantity.value == entry.quantity.value


@given(st.text(max_size=70), st.sampled_from(MEASURES))
def test_no_text_breaks_a_form(text: str, measure: object) -> None:
    key = Key(measure.pk, measure.spots[0])  # type: ignore[attr-defined]
    with suppress(QuantityError):
        assert len(read_entry(measure, key, text, IMPERIAL).text) <= 200  # type: ignore[arg-type]


def test_the_tools_step_stands_where_the_writing_is_coarser() -> None:
    def step(text: str) -> Decimal:
        entry = read_entry(HEIGHT, Key("ride-height", "LF"), text, IMPERIAL)
        assert entry.quantity is not None
        return entry.quantity.resolution

    assert step("2 1/2") == step("2 5/16") == Decimal("1.5875")
    assert step("2 9/32") == Decimal("0.79375")  # a finer tape than usual
    assert step("2.3125") < Decimal("0.01")


def test_a_count_has_no_step() -> None:
    entry = read_entry(BY_SLUG["teeth-driven"], Key("teeth-driven", "car"), "62", IMPERIAL)
    assert entry.quantity is not None
    assert (entry.quantity.value, entry.quantity.resolution) == (Decimal(62), Decimal(0))


@pytest.mark.parametrize("name", ["", "a", "ride-height.up", "ride-height.LF.1.2", "a.LF.x"])
def test_names_of_no_box(name: str) -> None:
    with pytest.raises(ValueError):
        Key.of(name)


@pytest.mark.parametrize("name", ["ride-height.LF", "camber.left.2", "cross.car"])
def test_a_box_has_one_name(name: str) -> None:
    assert str(Key.of(name)) == name


def sent(**fields: str) -> QueryDict:
    post = QueryDict(mutable=True)
    post.update(fields)
    return post


READING = "01a22bd9-a507-7fd6-8bbf-ce2e6751192d"


def test_only_what_was_changed_since_the_page_was_made_counts() -> None:
    boxes = {"ride-height.LF": "2", "ride-height.RF": "3", "nuts-bolts.car": "done"}
    seen = json.dumps({name: [READING, text] for name, text in boxes.items()})
    fields = {"ride-height.LF": "2", "ride-height.RF": "", "ride-height.LR": " 4 ", SEEN: seen}
    changed = changed_boxes(sent(**fields, csrfmiddlewaretoken="x", **{"not.abox": "1"}))
    assert {(str(one.key), one.text, str(one.seen or "")) for one in changed} == {
        ("ride-height.RF", "", READING),
        ("ride-height.LR", "4", ""),
        ("nuts-bolts.car", "", READING),  # a box no longer ticked is not sent at all
    }


def test_a_form_of_an_empty_sheet_saves_what_is_in_it() -> None:
    (only,) = changed_boxes(sent(**{"ride-height.LF": "2", "ride-height.RF": "", SEEN: ""}))
    assert (only.key, only.text, only.seen) == (Key("ride-height", "LF"), "2", None)


@pytest.mark.parametrize("seen", ["[1]", "{", "7", "null", '{"a.b": "c"}', '{"a.b": ["c", "d"]}'])
def test_a_form_that_lost_what_was_seen_overwrites_nothing(seen: str) -> None:
    with pytest.raises(Invalid, match="Reload the page"):
        changed_boxes(sent(**{"ride-height.LF": "2", SEEN: seen}))
