"""What is typed into boxes, and what stands in them for somebody with other units."""

from decimal import Decimal

import pytest
from django.http import QueryDict
from hypothesis import given
from hypothesis import strategies as st

from cars.catalogue.keys import Key
from cars.catalogue.sync import read_catalogue
from cars.figures.box_entries import box_text, read_boxes, read_entry
from cars.sheets.pages.boxes import STOOD, changed_boxes
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
    read = read_boxes({key: text}, BY_SLUG, IMPERIAL)
    assert len(read.entries) + len(read.wrong) == 1
    for entry in read.entries:
        assert len(entry.text) <= 200


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


def test_only_what_was_changed_since_the_page_was_made_counts() -> None:
    stood = '{"ride-height.LF": "2", "ride-height.RF": "3", "nuts-bolts.car": "done"}'
    fields = {"ride-height.LF": "2", "ride-height.RF": "", "ride-height.LR": " 4 ", STOOD: stood}
    assert changed_boxes(sent(**fields, csrfmiddlewaretoken="x", **{"not.abox": "1"})) == {
        Key("ride-height", "RF"): "",
        Key("ride-height", "LR"): "4",
        Key("nuts-bolts", "car"): "",  # a box no longer ticked is not sent at all
    }


@pytest.mark.parametrize("stood", ["", "[1]", "{", "7", "null"])
def test_a_form_without_its_memory_still_saves_what_is_in_it(stood: str) -> None:
    assert changed_boxes(sent(**{"ride-height.LF": "2", "ride-height.RF": "", STOOD: stood})) == {
        Key("ride-height", "LF"): "2"
    }
