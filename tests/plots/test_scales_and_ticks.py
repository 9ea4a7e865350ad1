"""Scales keep the order of figures and stay within their ends; ticks stand where people count."""

from fractions import Fraction
from math import inf, isfinite, nan

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from clubsetup.plots.bands import Band
from clubsetup.plots.scales import Scale
from clubsetup.plots.ticks import decimals, fraction_text, sixteenths

figures = st.floats(-1e9, 1e9)


@st.composite
def scales(draw: st.DrawFn) -> Scale:
    low = draw(figures)
    high = low + draw(st.floats(1e-3, 1e6))
    assume(low < high)
    start, end = draw(st.tuples(st.floats(-500, 500), st.floats(-500, 500)))
    return Scale(low, high, start, end)


@given(scales(), figures, figures)
def test_order_is_preserved_or_turned_whole(scale: Scale, one: float, other: float) -> None:
    less, more = sorted((one, other))
    rounding = 1e-9  # of a user unit
    if scale.start <= scale.end:
        assert scale(less) <= scale(more) + rounding
    else:
        assert scale(less) >= scale(more) - rounding


@given(scales(), st.floats(allow_nan=False, allow_infinity=False))
def test_whatever_is_measured_stands_within_the_ends(scale: Scale, value: float) -> None:
    where = scale(value)
    assert isfinite(where)
    low, high = sorted((scale.start, scale.end))
    assert low - 1e-9 <= where <= high + 1e-9


def test_the_ends_and_the_middle_stand_where_they_are_said_to() -> None:
    scale = Scale(2.0, 3.0, 10.0, 30.0)
    assert [scale(2), scale(Fraction(5, 2)), scale(3.0)] == [10.0, 20.0, 30.0]
    assert [scale.side(1.9), scale.side(2.5), scale.side(3.1)] == [-1, 0, 1]


@pytest.mark.parametrize("ends", [(1.0, 1.0), (2.0, 1.0), (nan, 1.0), (0.0, inf), (-1e308, 1e308)])
def test_ends_with_nothing_between_are_refused(ends: tuple[float, float]) -> None:
    with pytest.raises(ValueError, match="scale"):
        Scale(*ends, 0.0, 1.0)


def test_what_is_no_number_stands_nowhere() -> None:
    with pytest.raises(ValueError, match="nowhere"):
        Scale(0.0, 1.0, 0.0, 1.0)(nan)


@pytest.mark.parametrize(
    "asked",
    [{}, {"low": nan}, {"low": 2.0, "high": 1.0}, {"low": 1.0}, {"high": 1.0, "room": 0.0}],
)
def test_a_band_without_edge_width_or_room_is_refused(asked: dict[str, float]) -> None:
    with pytest.raises(ValueError, match=r"band|room"):
        Band(**asked)


def test_a_band_shows_three_tolerances_each_way() -> None:
    scale = Band.around(2.25, 0.0625).scale(0.0, 150.0)
    assert (scale.low, scale.high) == (2.0625, 2.4375)
    assert Band.around(2.25, 0.0625).ends(scale) == pytest.approx((50.0, 100.0))


def test_a_limit_has_one_edge_a_quarter_in() -> None:
    least, most = Band.at_least(310, room=4), Band.at_most(60, room=1)
    assert least.ends(least.scale(0.0, 200.0)) == pytest.approx((50.0, 200.0))
    assert most.ends(most.scale(0.0, 200.0)) == pytest.approx((0.0, 150.0))
    assert least.target is None


# Ticks


@pytest.mark.parametrize(
    ("low", "high", "at_most", "words"),
    [
        (2.0625, 2.4375, 6, ["2 1/8", "2 1/4", "2 3/8"]),
        (2.0625, 2.4375, 7, ["2 1/16", "2 1/8", "2 3/16", "2 1/4", "2 5/16", "2 3/8", "2 7/16"]),
        (33.0, 36.0, 6, ["33", "34", "35", "36"]),
        (-0.5, 0.5, 3, ["−1/2", "0", "1/2"]),
    ],
)
def test_sixteenths(low: float, high: float, at_most: int, words: list[str]) -> None:
    assert [tick.words for tick in sixteenths(low, high, at_most)] == words


@pytest.mark.parametrize(
    ("low", "high", "at_most", "words"),
    [
        (54.5, 57.5, 4, ["55", "56", "57"]),
        (55.5, 56.5, 6, ["55.6", "55.8", "56.0", "56.2", "56.4"]),
        (-0.3, 0.2, 6, ["−0.3", "−0.2", "−0.1", "0.0", "0.1", "0.2"]),
        (263.0, 318.0, 6, ["270", "280", "290", "300", "310"]),
    ],
)
def test_decimals(low: float, high: float, at_most: int, words: list[str]) -> None:
    assert [tick.words for tick in decimals(low, high, at_most)] == words


@given(st.floats(-1e6, 1e6), st.floats(1e-3, 1e6), st.integers(2, 12))
def test_ticks_stand_on_the_scale_in_order_and_no_more_than_asked(
    low: float, width: float, at_most: int
) -> None:
    high = low + width
    assume(low < high)
    for found in (decimals(low, high, at_most), sixteenths(low, high, at_most)):
        places = [tick.at for tick in found]
        assert len(places) <= at_most
        assert places == sorted(set(places))
        assert all(low <= float(at) <= high for at in places)


@pytest.mark.parametrize("ends", [(1.0, 1.0), (nan, 2.0), (0.0, inf)])
def test_ticks_need_two_figures_in_order(ends: tuple[float, float]) -> None:
    with pytest.raises(ValueError, match="finite"):
        decimals(*ends)


@pytest.mark.parametrize(
    ("value", "words"),
    [("37/16", "2 5/16"), ("-1/2", "−1/2"), ("3", "3"), ("0", "0"), ("-5/4", "−1 1/4")],
)
def test_a_fraction_is_written_as_a_tape_is_read(value: str, words: str) -> None:
    assert fraction_text(Fraction(value)) == words
