"""Weight put on, taken off and moved, and the uncertainty of what the scales then say."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from uncertainties import ufloat

from cars.mechanics import BadInput, Chassis, Corners, centre_of_mass, response, shares
from cars.mechanics.onboard import weigh_again, weight_change
from tests.examples import examples
from tests.mechanics.car_cases import chassis, random_chassis, warp_car

LOADS = Corners(37.0, 36.0, 40.0, 41.0)
PLACES = st.tuples(st.floats(-200.0, 1300.0), st.floats(-400.0, 400.0))


@given(chassis(), PLACES, st.floats(0.1, 5.0))
def test_weight_on_adds_its_mass_and_its_moment(
    car: Chassis, place: tuple[float, float], mass: float
) -> None:
    change = weight_change(response(car), mass, before=None, after=place)
    assert sum(change.loads) == pytest.approx(mass)
    after, _ = weigh_again(LOADS, [change])
    total, (x, y) = sum(LOADS), centre_of_mass(LOADS, car)
    moved = [(total * v + mass * p) / (total + mass) for v, p in zip((x, y), place, strict=True)]
    assert centre_of_mass(after, car) == pytest.approx(tuple(moved), abs=1e-6)


@given(chassis(), PLACES, PLACES, st.floats(0.1, 5.0))
def test_moving_is_taking_off_and_putting_on(
    car: Chassis, before: tuple[float, float], after: tuple[float, float], mass: float
) -> None:
    it = response(car)
    once = weight_change(it, mass, before=before, after=after)
    off = weight_change(it, mass, before=before, after=None)
    on = weight_change(it, mass, before=None, after=after)
    for part in ("loads", "heights"):
        twice = np.array(getattr(off, part)) + np.array(getattr(on, part))
        assert getattr(once, part) == pytest.approx(tuple(twice), abs=1e-9)
    assert sum(once.loads) == pytest.approx(0.0, abs=1e-9)


def test_weight_lowers_the_corner_it_stands_on() -> None:
    car = warp_car()
    for corner, place in enumerate(car.springs):
        change = weight_change(response(car), 2.0, before=None, after=place)
        assert change.heights[corner] == min(change.heights) < 0.0


def test_nothing_changed_is_what_was_read() -> None:
    assert weigh_again(LOADS, [], 0.07) == (LOADS, shares(LOADS, 0.07))


@settings(max_examples=examples(50), deadline=None)
@given(st.integers(0, 2**32 - 1))
def test_uncertainty_agrees_with_the_uncertainties_package(seed: int) -> None:
    rng = np.random.default_rng(seed)
    car = response(random_chassis(rng))
    pads = rng.uniform(0.02, 0.3, 4)
    changes, expected = [], [ufloat(w, u) for w, u in zip(LOADS, pads, strict=True)]
    for before, after in (
        (None, (700.0, 120.0)),
        ((150.0, -200.0), None),
        ((9.0, 9.0), (900, -99)),
    ):
        mass, u = rng.uniform(0.5, 5.0), rng.uniform(0.01, 0.5)
        changes.append(weight_change(car, mass, before=before, after=after, u=u))
        weight = ufloat(mass, u)
        for place, sign in ((before, -1), (after, 1)):
            if place is not None:
                per_kg = car.loads_per_kg(*place)
                expected = [w + sign * weight * f for w, f in zip(expected, per_kg, strict=True)]
    loads, got = weigh_again(LOADS, changes, Corners.of(pads))
    lf, rf, lr, rr = expected
    total = lf + rf + lr + rr
    assert loads == pytest.approx(tuple(w.nominal_value for w in expected))
    assert got.u_total == pytest.approx(total.std_dev)
    for name, share in (
        ("left", (lf + lr) / total),
        ("rear", (lr + rr) / total),
        ("cross", (rf + lr) / total),
    ):
        assert getattr(got, name) == pytest.approx(share.nominal_value)
        assert getattr(got, f"u_{name}") == pytest.approx(share.std_dev, rel=1e-6)


def test_a_piece_that_only_moves_leaves_the_total_as_sure_as_it_was() -> None:
    change = weight_change(response(warp_car()), 3.0, before=(0, 0), after=(900, 200), u=0.4)
    _, got = weigh_again(LOADS, [change], 0.1)
    assert got.total == pytest.approx(sum(LOADS))
    assert got.u_total == pytest.approx(0.2)
    assert got.u_left > shares(LOADS, 0.1).u_left


def test_a_load_below_zero_is_refused() -> None:
    change = weight_change(response(warp_car()), 90.0, before=(0.0, 430.0), after=None)
    with pytest.raises(BadInput) as refused:
        weigh_again(LOADS, [change])
    assert refused.value.quantity == "predicted loads LR"


@pytest.mark.parametrize(
    ("mass", "u", "named"), [(float("nan"), 0.0, "mass"), (1.0, -0.1, "u"), (1.0, 1e9, "u")]
)
def test_wrong_weights_are_named(mass: float, u: float, named: str) -> None:
    with pytest.raises(BadInput) as refused:
        weight_change(response(warp_car()), mass, before=None, after=(0.0, 0.0), u=u)
    assert refused.value.quantity == named


def test_a_place_that_is_no_number_is_named() -> None:
    with pytest.raises(BadInput) as refused:
        weight_change(response(warp_car()), 1.0, before=None, after=(float("inf"), 0.0))
    assert refused.value.quantity == "x"
