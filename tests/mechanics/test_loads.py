"""Shares with their uncertainty, and where the mass stands."""

import math
import warnings

import GTC
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from uncertainties import ufloat

from cars.mechanics import (
    STANDARD_GRAVITY,
    BadInput,
    Corners,
    centre_of_mass,
    centre_of_mass_height,
    response,
    shares,
)
from cars.mechanics.chassis import Chassis
from tests.mechanics.car_cases import chassis, even_car, scale_readings, warp_car

READ = Corners(82.4, 79.6, 88.2, 84.8)
PADS = st.builds(Corners, *[st.floats(0.001, 1.0)] * 4)


def test_shares_of_a_worked_example() -> None:
    # Values of `uncertainties`, GTC and the closed form, which agreed to all digits.
    got = shares(READ, 0.15)
    assert got.total == pytest.approx(335.0, rel=1e-15)
    assert got.u_total == pytest.approx(0.3, rel=1e-15)
    assert got.cross == pytest.approx(0.5008955223880598, rel=1e-15)
    assert got.u_cross == pytest.approx(0.00044776191220272, rel=1e-13)
    assert got.left == pytest.approx(0.5092537313, abs=1e-10)
    assert got.u_left == pytest.approx(0.0004478378724, abs=1e-13)
    assert got.rear == pytest.approx(0.5164179104, abs=1e-10)
    assert got.u_rear == pytest.approx(0.0004480025151, abs=1e-13)


def test_the_three_shares_are_those_of_the_trade() -> None:
    # Common practice, no source: cross = (RF + LR)/total, left and rear likewise.
    got = shares(Corners(lf=100.0, rf=90.0, lr=80.0, rr=70.0))
    assert (got.total, got.cross, got.left, got.rear) == (340.0, 0.5, 180 / 340, 150 / 340)
    assert (got.u_total, got.u_cross, got.u_left, got.u_rear) == (0.0, 0.0, 0.0, 0.0)


@given(scale_readings(), PADS)
def test_uncertainty_agrees_with_two_libraries(loads: Corners, u: Corners) -> None:
    # `uncertainties` 3 and GTC (JCGM 100:2008) propagate by themselves.
    got = shares(loads, u)
    for make, value_of, u_of in (
        (ufloat, lambda v: v.nominal_value, lambda v: v.std_dev),
        (GTC.ureal, lambda v: v.x, lambda v: v.u),
    ):
        lf, rf, lr, rr = (make(w, s) for w, s in zip(loads, u, strict=True))
        total = lf + rf + lr + rr
        for name, ours in (
            ("total", total),
            ("left", (lf + lr) / total),
            ("rear", (lr + rr) / total),
            ("cross", (rf + lr) / total),
        ):
            assert getattr(got, name) == pytest.approx(value_of(ours), rel=1e-12)
            assert getattr(got, f"u_{name}") == pytest.approx(u_of(ours), rel=1e-9)


@given(scale_readings(), st.floats(0.001, 1.0))
def test_equal_pads_follow_the_closed_form(loads: Corners, u: float) -> None:
    got, total = shares(loads, u), sum(loads)
    for name, inside in (
        ("left", loads.lf + loads.lr),
        ("rear", loads.lr + loads.rr),
        ("cross", loads.rf + loads.lr),
    ):
        closed = u * math.sqrt(2 * inside**2 + 2 * (total - inside) ** 2) / total**2
        assert getattr(got, f"u_{name}") == pytest.approx(closed, rel=1e-12)
    assert got.u_total == pytest.approx(2 * u, rel=1e-12)


@given(scale_readings(), st.floats(0.9, 1.1))
def test_a_gain_common_to_all_pads_cancels_in_the_shares(loads: Corners, gain: float) -> None:
    true, shown = shares(loads), shares(loads.each(lambda load: load * gain))
    assert (shown.left, shown.rear, shown.cross) == pytest.approx(
        (true.left, true.rear, true.cross), rel=1e-12
    )
    assert shown.total == pytest.approx(true.total * gain, rel=1e-12)


@given(scale_readings())
def test_the_mirrored_car_has_the_opposite_shares(loads: Corners) -> None:
    here, there = shares(loads), shares(Corners(loads.rf, loads.lf, loads.rr, loads.lr))
    assert (there.left, there.cross) == pytest.approx((1 - here.left, 1 - here.cross), abs=1e-12)
    assert there.rear == pytest.approx(here.rear, rel=1e-12)


def test_a_lifted_wheel_is_allowed_but_four_zeros_are_not() -> None:
    assert shares(Corners(0.0, 80.0, 80.0, 40.0)).cross == pytest.approx(0.8)
    with pytest.raises(BadInput, match="all zero") as refused:
        shares(Corners.same(0.0))
    assert refused.value.quantity == "loads"


@pytest.mark.parametrize("wrong", [-0.1, math.nan, math.inf, 1e7])
def test_readings_that_cannot_be_are_named(wrong: float) -> None:
    with pytest.raises(BadInput) as refused:
        shares(READ._replace(rr=wrong))
    assert refused.value.quantity == "loads RR"
    with pytest.raises(BadInput) as refused:
        shares(READ, wrong)
    assert refused.value.quantity == "u LF"
    with pytest.raises(BadInput):
        centre_of_mass(READ._replace(lf=wrong), even_car())


def test_equal_loads_put_the_mass_in_the_middle() -> None:
    assert centre_of_mass(Corners.same(40.0), even_car()) == (620.0, 0.0)


def test_lead_moves_the_centre_of_mass() -> None:
    car = even_car(wheelbase_left=1227.3, wheelbase_right=1252.7)
    x, y = centre_of_mass(Corners(40.0, 60.0, 40.0, 40.0), car)
    assert x == pytest.approx((40 * 1227.3 + 60 * 1252.7) / 180)
    assert y == pytest.approx((40 - 60) * 440 / 180)


@given(chassis(), scale_readings(40.0, 80.0), st.floats(0.0, 1200.0), st.floats(-400.0, 400.0))
def test_a_piece_moves_the_centre_of_mass_as_its_moment_says(
    car: Chassis, loads: Corners, x: float, y: float
) -> None:
    # 5 kg put at (x, y): the loads come from the springs, the moment from arithmetic.
    added = np.array(response(car).loads_per_kg(x, y)) * 5.0
    x0, y0 = centre_of_mass(loads, car)
    x1, y1 = centre_of_mass(Corners.of(np.array(loads) + added), car)
    total = sum(loads)
    assert x1 == pytest.approx((total * x0 + 5 * x) / (total + 5), abs=1e-6)
    assert y1 == pytest.approx((total * y0 + 5 * y) / (total + 5), abs=1e-6)


@pytest.mark.parametrize(
    ("angle", "newtons"), [(5, 19.755125), (10, 39.815005), (15, 60.503495), (20, 82.185249)]
)
def test_height_from_a_raised_axle(angle: float, newtons: float) -> None:
    # Forward case worked out separately: 155 kg, L 1231.9, h 310, r 127 mm (ISO 10392:2011).
    height = centre_of_mass_height(
        total=155.0,
        rear_gain=newtons / STANDARD_GRAVITY,
        wheelbase=1231.9,
        angle=angle,
        wheel_radius=127.0,
    )
    assert height == pytest.approx(310.0, abs=1e-5)


@given(st.floats(1.0, 30.0), st.floats(50.0, 600.0), st.floats(100.0, 1100.0))
def test_height_from_statics_of_a_tilted_body(angle: float, height: float, x: float) -> None:
    # The forward problem by moments about the rear contact, in tilted coordinates.
    weight, base, radius, tilt = 155.0, 1231.9, 127.0, math.radians(angle)
    along = x * math.cos(tilt) - (height - radius) * math.sin(tilt)  # behind it: less on the front
    front = weight * along / (base * math.cos(tilt))
    gain = (weight - front) - (weight - weight * x / base)
    found = centre_of_mass_height(
        total=weight, rear_gain=gain, wheelbase=base, angle=angle, wheel_radius=radius
    )
    assert found == pytest.approx(height, abs=1e-6)


@pytest.mark.parametrize(
    ("changed", "named"),
    [
        ({"total": 0.0}, "total"),
        ({"rear_gain": 200.0}, "rear_gain"),
        ({"wheelbase": -1.0}, "wheelbase"),
        ({"angle": 0.0}, "angle"),
        ({"angle": 90.0}, "angle"),
        ({"wheel_radius": math.nan}, "wheel_radius"),
    ],
)
def test_a_raised_axle_weighing_that_cannot_be(changed: dict[str, float], named: str) -> None:
    sound = {
        "total": 155.0,
        "rear_gain": 4.0,
        "wheelbase": 1231.9,
        "angle": 10.0,
        "wheel_radius": 127.0,
    }
    with pytest.raises(BadInput) as refused:
        centre_of_mass_height(**{**sound, **changed})
    assert refused.value.quantity == named


def test_the_reference_car_stands_where_its_wheels_are() -> None:
    car = warp_car()
    for place, wheel in enumerate(car.wheels):
        loads = Corners.of([1.0 if corner == place else 0.0 for corner in range(4)])
        assert centre_of_mass(loads, car) == pytest.approx(wheel)


anything = st.one_of(st.floats(), st.floats(0.0, 1e6), st.floats(0.0, 1e-300))


@given(st.builds(Corners, *[anything] * 4), st.builds(Corners, *[anything] * 4))
def test_nothing_returns_nan(loads: Corners, u: Corners) -> None:
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        try:
            got, place = shares(loads, u), centre_of_mass(loads, even_car())
        except BadInput:
            return
    figures = (got.total, got.left, got.rear, got.cross, got.u_total, got.u_left, got.u_cross)
    assert all(map(math.isfinite, (*figures, got.u_rear, *place)))
