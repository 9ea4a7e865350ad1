"""The target strip in every state: what is drawn, where, and what is said of it."""

import re
from math import nan
from xml.etree import ElementTree as ET

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from clubsetup.plots.bands import Band
from clubsetup.plots.spread import Lane, Member, lanes, spread
from clubsetup.plots.strip import BOX, WIDE, Reading, State, describe, target_strip

HEIGHT = Band.around(2.25, 0.0625)
NUMBERS = re.compile(r"-?\d+(?:\.\d+)?")
Box = tuple[float, float, float, float]


def parts(svg: str) -> dict[str, list[ET.Element]]:
    """The elements of a drawing by the first word of their class."""
    found: dict[str, list[ET.Element]] = {}
    for each in ET.fromstring(svg):
        found.setdefault((each.get("class") or each.tag).split()[0], []).append(each)
    return found


def box(each: ET.Element) -> Box:
    """Left, top, right and bottom of a rectangle or of a path's corners."""
    if each.tag == "rect":
        x, y, w, h = (float(each.attrib[name]) for name in ("x", "y", "width", "height"))
        return (x, y, x + w, y + h)
    figures = [float(n) for n in NUMBERS.findall(each.attrib["d"])]
    xs, ys = figures[::2], figures[1::2]
    return (min(xs), min(ys), max(xs), max(ys))


def middle(each: ET.Element) -> float:
    left, _, right, _ = box(each)
    return (left + right) / 2


def drawn(state: State, value: float | None, **more: float) -> dict[str, list[ET.Element]]:
    return parts(target_strip(Reading(HEIGHT, state, value, **more)))


def test_on_target_a_thin_solid_needle_stands_in_the_band() -> None:
    found = drawn(State.ON_TARGET, 2.25, reach=1 / 64, before=2.28125)
    band = box(found["b"][0])
    assert band == pytest.approx((51.67, 3, 98.33, 13), abs=0.02)
    assert box(found["n"][0]) == (73, 1, 77, 15)
    assert box(found["w"][0]) == pytest.approx((69.17, 5, 80.83, 11), abs=0.01)
    assert middle(found["before"][0]) == pytest.approx(86.67, abs=0.01)
    assert box(found["z"][0]) == (75, 6, 75, 10)


def test_off_is_thick_and_solid() -> None:
    needle = drawn(State.OFF, 2.125)["n"][0]
    left, _, right, _ = box(needle)
    assert right - left == 5
    assert "stroke" not in needle.attrib
    assert right < 51.67


@pytest.mark.parametrize(("value", "tip"), [(2.0, 0.5), (2.9, 149.5)])
def test_off_the_scale_an_arrowhead_points_out(value: float, tip: float) -> None:
    found = drawn(State.OFF, value, reach=1 / 64)
    head = found["n"][0]
    assert head.tag == "path"
    left, _, right, _ = box(head)
    assert tip in (left, right)
    assert abs((right if tip < 75 else left) - 75) == 65
    # The whisker is beyond the scale too.
    assert "w" not in found


def test_a_whisker_that_leaves_the_scale_has_no_stop_there() -> None:
    inside, leaving = drawn(State.OFF, 2.4, reach=0.01), drawn(State.OFF, 2.4, reach=0.1)
    assert inside["w"][0].attrib["d"].count("M") == 3
    assert leaving["w"][0].attrib["d"].count("M") == 2
    assert box(leaving["w"][0])[2] == 145


def test_too_close_is_hollow_with_its_whisker_across_the_edge() -> None:
    found = drawn(State.TOO_CLOSE, 2.3125, reach=1 / 32)
    needle, edge = found["n"][0], box(found["b"][0])[2]
    assert (needle.get("fill"), needle.get("stroke-width")) == ("#fff", "2")
    left, _, right, _ = box(found["w"][0])
    assert left < edge < right


def test_to_retake_is_a_dashed_outline_without_whisker() -> None:
    found = drawn(State.RETAKE, 2.3125, reach=1 / 32)
    assert found["n"][0].get("stroke-dasharray") == "3 2"
    assert found["n"][0].get("fill") == "none"
    assert "w" not in found


@pytest.mark.parametrize("state", [State.NOT_TAKEN, State.REFUSED])
def test_not_taken_and_refused_have_no_needle_but_the_last_time(state: State) -> None:
    found = drawn(state, None, before=2.25)
    assert "n" not in found
    assert "w" not in found
    assert middle(found["before"][0]) == 75


def test_last_time_beyond_the_scale_is_not_drawn() -> None:
    assert "before" not in drawn(State.NOT_TAKEN, None, before=4.0)


def test_a_limit_has_one_edge_and_its_words() -> None:
    reading = Reading(Band.at_least(310, room=4), State.ON_TARGET, 315.0, 0.5)
    found = parts(target_strip(reading, size=WIDE, words=("310 least", "315.0")))
    assert found["e"][0].attrib["d"].count("M") == 1
    assert box(found["b"][0])[0] == pytest.approx(55)
    assert box(found["b"][0])[2] == WIDE.length - WIDE.inset
    assert [each.text for each in found["text"] + found["k"]] == ["310 least", "315.0"]


def test_turned_it_stands_upright_with_more_above() -> None:
    low, high = (
        parts(target_strip(Reading(HEIGHT, State.ON_TARGET, value), turned=True))
        for value in (2.22, 2.28)
    )
    assert box(low["n"][0])[1] > box(high["n"][0])[1]
    left, top, right, bottom = box(high["b"][0])
    assert (left, right) == (3, 13)
    assert bottom - top == pytest.approx(46.67, abs=0.01)


def test_geometry_stands_in_attributes_alone() -> None:
    svg = target_strip(Reading(HEIGHT, State.OFF, 2.9, 0.1, 2.2), words=("", "2 7/8"))
    for each in ET.fromstring(svg).iter():
        assert not {"style", "transform"} & set(each.attrib)


@pytest.mark.parametrize(
    ("reading", "said"),
    [
        (Reading(HEIGHT, State.ON_TARGET, 2.25), "in the band"),
        (Reading(HEIGHT, State.OFF, 2.125), "below the band"),
        (Reading(HEIGHT, State.OFF, 2.9), "far above the band"),
        (Reading(HEIGHT, State.TOO_CLOSE, 2.3125), "across the edge of the band"),
        (Reading(HEIGHT, State.NOT_TAKEN), "not taken"),
        (Reading(HEIGHT, State.RETAKE, 2.25), "in the band, to be taken again"),
        (Reading(HEIGHT, State.REFUSED), "not saved"),
    ],
)
def test_what_is_said_of_it(reading: Reading, said: str) -> None:
    assert describe(reading) == said
    assert ET.fromstring(target_strip(reading)).attrib["aria-label"] == said


def test_a_name_given_is_escaped_and_none_hides_it() -> None:
    reading = Reading(HEIGHT, State.ON_TARGET, 2.25)
    named = ET.fromstring(target_strip(reading, name='RF <"2 1/4">'))
    hidden = ET.fromstring(target_strip(reading, name=""))
    assert (named.get("role"), named.get("aria-label")) == ("img", 'RF <"2 1/4">')
    assert (hidden.get("role"), hidden.get("aria-hidden")) == (None, "true")


@pytest.mark.parametrize(
    "wrong",
    [{"value": nan}, {"value": 2.0, "reach": -1.0}, {"value": 2.0, "before": nan}, {}],
)
def test_figures_that_stand_nowhere_are_refused(wrong: dict[str, float]) -> None:
    with pytest.raises(ValueError, match=r"figure|reach"):
        Reading(HEIGHT, State.OFF, **wrong)


# Whatever it is given


values = st.floats(-1e12, 1e12)


@st.composite
def readings(draw: st.DrawFn) -> Reading:
    middle, half = draw(st.floats(-1e6, 1e6)), draw(st.floats(1e-3, 1e5))
    assume(middle - half < middle + half)
    band = draw(
        st.sampled_from(
            [
                Band.around(middle, half),
                Band.at_least(middle, room=half),
                Band.at_most(middle, room=half),
            ]
        )
    )
    return Reading(
        band,
        draw(st.sampled_from(State)),
        draw(values),
        draw(st.floats(0, 1e9)),
        draw(st.none() | values),
    )


@given(readings(), st.booleans())
def test_everything_is_inside_the_drawing(reading: Reading, turned: bool) -> None:
    svg = target_strip(reading, turned=turned)
    assert "nan" not in svg
    assert "inf" not in svg
    root = ET.fromstring(svg)
    _, _, width, height = (float(n) for n in root.attrib["viewBox"].split())
    for each in root:
        if each.get("d") == "":
            continue
        left, top, right, bottom = box(each)
        assert left >= 0
        assert top >= 0
        assert right <= width
        assert bottom <= height + 2  # the small triangle stands a little under the line


@given(values, values, st.sampled_from([State.ON_TARGET, State.OFF, State.TOO_CLOSE]))
def test_the_larger_figure_never_stands_left_of_the_smaller(
    one: float, other: float, state: State
) -> None:
    less, more = sorted((one, other))
    left, right = (middle(drawn(state, value)["n"][0]) for value in (less, more))
    assert left <= right


# Side by side


def test_sheets_side_by_side_have_a_lane_each() -> None:
    svg = lanes(
        HEIGHT,
        [Lane(2.25, "square"), Lane(2.25, "ring"), Lane(2.9, "triangle", "bad")],
        name="RF height of three sheets",
    )
    found = [each for each in ET.fromstring(svg) if (each.get("class") or "").startswith("pt")]
    assert [each.tag for each in found] == ["rect", "circle", "path"]
    tops = [
        float(found[0].attrib["y"]) + 4.5,
        float(found[1].attrib["cy"]),
        (box(found[2])[1] + box(found[2])[3]) / 2,
    ]
    assert tops == sorted(set(tops))
    # The scale is made longer, so nothing leaves it.
    assert box(found[2])[2] <= 360


def test_the_odd_car_is_tall_and_numbered() -> None:
    svg = spread(
        HEIGHT, [Member(2.25, "31"), Member(2.26, "13"), Member(2.4, "7x", True)], name="RF height"
    )
    found = parts(svg)
    heights = [box(each)[3] - box(each)[1] for each in found["tick"]]
    assert heights == [10, 10, 20]
    assert [each.text for each in found["bad"]] == ["7x"]


def test_a_box_is_as_large_as_its_drawing() -> None:
    root = ET.fromstring(target_strip(Reading(HEIGHT, State.NOT_TAKEN), shown=(60.0, 10.0)))
    assert root.attrib["viewBox"] == f"0 0 {BOX.length:g} {BOX.height:g}"
    assert (root.get("width"), root.get("height")) == ("60", "10")
