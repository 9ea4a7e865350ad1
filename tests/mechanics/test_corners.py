"""The order of corners, and refusals that name what is wrong."""

import math
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cars.mechanics import CORNER_NAMES, BadInput, Corners, MechanicsError
from cars.mechanics.corners import checked
from cars.mechanics.errors import all_finite, finite, not_negative, positive, within


def test_the_order_is_lf_rf_lr_rr() -> None:
    assert Corners._fields == ("lf", "rf", "lr", "rr")
    assert CORNER_NAMES == ("LF", "RF", "LR", "RR")
    assert Corners(lf=1, rf=2, lr=3, rr=4) == (1, 2, 3, 4)


def test_corners_of_four_figures_are_plain_floats() -> None:
    made = Corners.of([1, 2, 3, 4])
    assert made == Corners(1.0, 2.0, 3.0, 4.0)
    assert all(type(value) is float for value in made)
    assert Corners.same(2.5) == (2.5, 2.5, 2.5, 2.5)
    assert made.each(lambda value: value * 2) == (2.0, 4.0, 6.0, 8.0)


@pytest.mark.parametrize("values", [[], [1.0], [1.0] * 3, [1.0] * 5])
def test_other_than_four_figures_are_refused(values: list[float]) -> None:
    with pytest.raises(BadInput, match="four figures"):
        Corners.of(values)
    with pytest.raises(BadInput, match="four figures") as refused:
        checked("tyre_rate", values)
    assert refused.value.quantity == "tyre_rate"


def test_a_refusal_names_the_quantity_and_the_corner() -> None:
    with pytest.raises(BadInput) as refused:
        checked("spring_rate", (17.5, 21.0, -19.3, 24.5), positive)
    assert refused.value.quantity == "spring_rate LR"
    assert str(refused.value) == "spring_rate LR: must be more than zero, not -19.3"
    assert isinstance(refused.value, MechanicsError)
    assert isinstance(refused.value, ValueError)


@pytest.mark.parametrize("value", [math.nan, math.inf, -math.inf, "wide", None, 10**400])
def test_what_is_not_a_finite_number_is_refused_by_every_check(value: Any) -> None:
    checks = (finite, positive, not_negative, lambda q, v: within(q, v, 0.0, 1.0))
    for check in checks:
        with pytest.raises(BadInput) as refused:
            check("track", value)
        assert refused.value.quantity == "track"
    with pytest.raises(BadInput) as refused:
        all_finite("reading", [1.0, value])
    assert refused.value.quantity == "reading[1]"


@given(st.floats(allow_nan=False, allow_infinity=False))
def test_checks_agree_with_plain_comparison(value: float) -> None:
    for check, holds in (
        (positive, value > 0.0),
        (not_negative, value >= 0.0),
        (lambda q, v: within(q, v, -1.0, 2.0), -1.0 <= value <= 2.0),
    ):
        if holds:
            assert check("x", value) == value
        else:
            with pytest.raises(BadInput):
                check("x", value)


def test_a_ceiling_is_named() -> None:
    with pytest.raises(BadInput, match="at most 100"):
        positive("thread", 101.0, 100.0)
