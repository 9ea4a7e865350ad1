"""A measure over days: what is drawn stands where it should, and leads where it should."""

import xml.etree.ElementTree as ET
from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from clubsetup.plots.over_time import HEIGHT, WIDTH, DayBand, DayMark, DayPoint, over_time

FIRST = date(2026, 3, 1)
DAYS = (FIRST, date(2026, 11, 30))


def drawn(*args: object, **more: object) -> ET.Element:
    return ET.fromstring(over_time(*args, days=DAYS, **more))  # type: ignore[arg-type]


def circles(svg: ET.Element) -> list[tuple[float, float]]:
    return [(float(one.attrib["cx"]), float(one.attrib["cy"])) for one in svg.iter("circle")]


def test_later_stands_to_the_right_and_more_stands_higher() -> None:
    points = [
        DayPoint(FIRST, 55.0, is_set=True),
        DayPoint(FIRST + timedelta(days=90), 56.0, is_set=True),
    ]
    (x1, y1), (x2, y2) = circles(drawn(points))
    assert x1 < x2
    assert y1 > y2


def test_each_point_leads_to_its_sheet_and_says_so() -> None:
    point = DayPoint(FIRST, 55.0, is_set=False, goes_to="/sheets/1/", name="1 Mar: 55 <b>")
    svg = drawn([point], name="Cross")
    (link,) = svg.iter("a")
    assert link.attrib["href"] == "/sheets/1/"
    assert link.attrib["aria-label"] == "1 Mar: 55 <b>"
    assert svg.attrib["aria-label"] == "Cross"


def test_the_band_is_that_of_its_time() -> None:
    until = FIRST + timedelta(days=100)
    bands = [DayBand(FIRST, 54.0, 55.0), DayBand(until, 55.0, 56.0)]
    svg = drawn([DayPoint(until, 55.0, is_set=True)], bands)
    first, second = (one for one in svg.iter("rect") if one.attrib["class"] == "b")
    assert float(first.attrib["x"]) + float(first.attrib["width"]) == pytest.approx(
        float(second.attrib["x"]), abs=0.02
    )
    assert float(first.attrib["y"]) > float(second.attrib["y"])
    assert not list(drawn([DayPoint(FIRST, 1.0, is_set=True)], [DayBand(FIRST)]).iter("rect"))


def test_marks_carry_their_letters() -> None:
    svg = drawn([DayPoint(FIRST, 55.0, is_set=True)], marks=[DayMark(FIRST, "A")])
    assert "A" in [one.text for one in svg.iter("text")]


def test_without_a_point_there_is_no_plot() -> None:
    with pytest.raises(ValueError, match="at least one point"):
        over_time([], days=DAYS)


@given(
    st.lists(
        st.tuples(
            st.integers(0, 274),
            st.floats(-1e6, 1e6, allow_nan=False),
            st.booleans(),
        ),
        min_size=1,
        max_size=20,
    ),
    st.booleans(),
)
def test_all_of_it_stands_on_the_paper(
    rows: list[tuple[int, float, bool]], on_a_tape: bool
) -> None:
    points = [
        DayPoint(FIRST + timedelta(days=after), value, is_set) for after, value, is_set in rows
    ]
    for x, y in circles(drawn(points, on_a_tape=on_a_tape)):
        assert 0 <= x <= WIDTH
        assert 0 <= y <= HEIGHT
