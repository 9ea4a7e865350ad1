"""How far figures are apart, and what the tools can tell, against the rules that state it."""

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cars.mechanics.differences import Difference, Known, difference, furthest

numbers = st.decimals(-1000, 1000, places=4, allow_nan=False)
doubts = st.decimals(0, 10, places=4, allow_nan=False)
figures = st.builds(Known, numbers, doubts, st.one_of(st.none(), doubts))


@given(figures, figures)
def test_a_difference_turns_its_sign_with_the_order(one: Known, other: Known) -> None:
    there, back = difference(one, other), difference(other, one)
    assert there.amount == -back.amount
    assert there.reach == back.reach
    assert there.is_told == back.is_told


@given(figures)
def test_a_figure_is_not_apart_from_itself(one: Known) -> None:
    itself = difference(one, one)
    assert itself.amount == 0
    assert not itself.is_told


@given(
    st.lists(st.builds(Difference, numbers, doubts), max_size=11), numbers.filter(lambda n: n > 0)
)
def test_the_furthest_is_the_largest_that_is_told(
    found: list[Difference], tolerance: Decimal
) -> None:
    told = [float(abs(each.amount) / tolerance) for each in found if each.is_told]
    assert furthest(found, tolerance) == (max(told) if told else None)


def test_one_step_of_the_tape_is_not_told_and_two_are() -> None:
    """Each reading is right within half a sixteenth of an inch, 25.4 / 32 mm."""
    half = Decimal("25.4") / 32
    lower = Known(Decimal("57.15"), half_step=half)
    for steps, is_told in ((1, False), (2, True)):
        higher = Known(lower.value + steps * 2 * half, half_step=half)
        assert difference(lower, higher).is_told is is_told


def test_computed_figures_are_told_by_their_combined_uncertainty() -> None:
    """u = 0.3 and 0.4 combine to 0.5 (JCGM 100:2008, 5.1.2), at 95 % 0.98 (table G.1)."""
    one = Known(Decimal(52), Decimal("0.3"))
    assert not difference(one, Known(Decimal("52.97"), Decimal("0.4"))).is_told
    assert difference(one, Known(Decimal("52.99"), Decimal("0.4"))).is_told


def test_no_difference_is_counted_in_tolerances_of_nothing() -> None:
    with pytest.raises(ValueError, match="above 0"):
        Difference(Decimal(1), Decimal(0)).in_tolerances(Decimal(0))
