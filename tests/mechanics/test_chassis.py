"""What must hold for every car, and what is refused."""

import itertools
import math
import warnings

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cars.mechanics import (
    STANDARD_GRAVITY,
    BadInput,
    Chassis,
    Corners,
    MechanicsError,
    Response,
    Singular,
    response,
)
from tests.examples import examples
from tests.mechanics.car_cases import chassis, even_car, random_chassis

CROSS = np.array([0.0, 1.0, 1.0, 0.0])
places = st.floats(-1500.0, 1500.0)
small = st.floats(-5.0, 5.0)


def rows_of(car: Chassis) -> tuple[np.ndarray, np.ndarray]:
    """x and y of the four wheels."""
    x, y = np.array(car.wheels).T
    return x, y


@given(chassis())
def test_a_turn_adds_no_weight_and_no_moment(car: Chassis) -> None:
    ours, (x, y) = response(car), rows_of(car)
    for change in (ours.loads_per_turn, ours.loads_per_pad_mm):
        scale = np.abs(change).max()
        assert np.abs(change.sum(axis=0)).max() < 1e-10 * scale
        assert np.abs(x @ change).max() < 1e-7 * scale
        assert np.abs(y @ change).max() < 1e-7 * scale


@given(chassis(), small, small, small)
def test_seat_offsets_on_one_plane_change_no_load(
    car: Chassis, lift: float, roll: float, pitch: float
) -> None:
    # A frame that follows a plane a + b y + c x at the springs needs seat travel r times it.
    def plane(points: object) -> np.ndarray:
        x, y = np.array(points).T
        lifted: np.ndarray = lift + roll * y / 300.0 + pitch * x / 600.0
        return lifted

    ours = response(car)
    turns = plane(car.springs) * np.array(car.motion_ratio) / np.array(car.thread)
    scale = 1.0 + np.abs(turns).max()
    assert np.abs(ours.loads_per_turn @ turns).max() < 1e-8 * scale
    heights = ours.heights_per_turn @ turns
    assert heights == pytest.approx(plane(car.height_points), abs=1e-8 * scale)


@given(chassis(), small, small, small)
def test_pads_on_one_plane_change_no_load(
    car: Chassis, lift: float, roll: float, pitch: float
) -> None:
    def plane(points: object) -> np.ndarray:
        x, y = np.array(points).T
        lifted: np.ndarray = lift + roll * y / 300.0 + pitch * x / 600.0
        return lifted

    ours, pads = response(car), plane(car.wheels)
    assert np.abs(ours.loads_per_pad_mm @ pads).max() < 1e-8
    assert ours.heights_per_pad_mm @ pads == pytest.approx(plane(car.height_points), abs=1e-8)


@given(st.integers(0, 2**32 - 1), st.sampled_from([(1, 0, 1, 0), (0, 1, 0, 1)]), small)
def test_equal_turns_on_one_side_leave_cross_alone(
    seed: int, side: tuple[int, int, int, int], turns: float
) -> None:
    # Common practice, no source; exact for equal bases, ratios and threads without lead,
    # whatever the rates and tracks: such offsets lie on one plane.
    car = random_chassis(
        np.random.default_rng(seed),
        wheelbase_left=1240.0,
        wheelbase_right=1240.0,
        spring_y=Corners(310.0, -310.0, 310.0, -310.0),
        motion_ratio=Corners.same(0.9),
        thread=Corners.same(1.5),
    )
    ours = response(car)
    assert abs(CROSS @ ours.loads_per_turn @ np.array(side) * turns) < 1e-9
    lifted = ours.heights_per_turn @ np.array(side) * turns
    on_the_side = lifted[np.array(side) == 1]
    assert np.all(np.sign(on_the_side) == np.sign(turns))


@given(chassis())
def test_opposite_turns_across_the_car_move_cross_most(car: Chassis) -> None:
    # Common practice, no source. Of all ways to turn each seat one up, one down or not.
    cross = CROSS @ response(car).loads_per_turn
    best = max(itertools.product((-1, 0, 1), repeat=4), key=lambda turns: cross @ np.array(turns))
    assert best == (-1, 1, 1, -1)


@given(chassis())
def test_a_turn_loads_its_own_corner_and_the_one_across(car: Chassis) -> None:
    signs = np.sign(response(car).loads_per_turn)
    assert np.array_equal(signs, np.outer([1, -1, -1, 1], [1, -1, -1, 1]))


@given(chassis(), places, places)
def test_a_weight_is_carried_whole_and_where_it_stands(car: Chassis, px: float, py: float) -> None:
    loads, (x, y) = np.array(response(car).loads_per_kg(px, py)), rows_of(car)
    assert loads.sum() == pytest.approx(1.0, abs=1e-10)
    assert x @ loads == pytest.approx(px, abs=1e-6)
    assert y @ loads == pytest.approx(py, abs=1e-6)


@given(chassis())
def test_a_weight_in_the_middle_lowers_the_car(car: Chassis) -> None:
    x, y = np.array(car.wheels).mean(axis=0)
    heights = np.array(response(car).heights_per_kg(x, y))
    assert np.mean(heights) < 0.0


@given(chassis())
def test_pads_act_on_one_another_alike(car: Chassis) -> None:
    # Maxwell and Betti: what pad i does to tyre j, pad j does to tyre i.
    change = response(car).loads_per_pad_mm
    assert change == pytest.approx(change.T, abs=1e-10)


@given(chassis(), st.floats(0.2, 5.0))
def test_stiffer_throughout_carries_more_and_stands_the_same(car: Chassis, by: float) -> None:
    def stiffer(rates: Corners) -> Corners:
        return rates.each(lambda rate: rate * by)

    fields = {name: getattr(car, name) for name in car.__dataclass_fields__}
    rates = {name: stiffer(getattr(car, name)) for name in ("spring_rate", "tyre_rate")}
    soft, stiff = response(car), response(Chassis(**{**fields, **rates}))
    assert stiff.loads_per_turn == pytest.approx(soft.loads_per_turn * by, rel=1e-8)
    assert stiff.heights_per_turn == pytest.approx(soft.heights_per_turn, rel=1e-8, abs=1e-10)


def mirrored(car: Chassis) -> Chassis:
    """The same car seen in a mirror: left is right."""

    def swap(corners: Corners, sign: float = 1.0) -> Corners:
        return Corners(*(sign * corners[place] for place in (1, 0, 3, 2)))

    return Chassis(
        wheelbase_left=car.wheelbase_right,
        wheelbase_right=car.wheelbase_left,
        track_front=car.track_front,
        track_rear=car.track_rear,
        spring_y=swap(car.spring_y, -1.0),
        spring_rate=swap(car.spring_rate),
        motion_ratio=swap(car.motion_ratio),
        thread=swap(car.thread),
        tyre_rate=swap(car.tyre_rate),
        height_points=[(car.height_points[p][0], -car.height_points[p][1]) for p in (1, 0, 3, 2)],
        front_axle=car.front_axle,
        rear_axle=car.rear_axle,
    )


@given(chassis(), places, places)
def test_the_mirrored_car_does_the_mirrored_thing(car: Chassis, x: float, y: float) -> None:
    here, there, swap = response(car), response(mirrored(car)), [1, 0, 3, 2]
    for name in ("loads_per_turn", "heights_per_turn", "loads_per_pad_mm", "heights_per_pad_mm"):
        turned = getattr(there, name)[np.ix_(swap, swap)]
        assert turned == pytest.approx(getattr(here, name), abs=1e-8)
    loads = np.array(there.loads_per_kg(x, -y))[swap]
    assert loads == pytest.approx(here.loads_per_kg(x, y), abs=1e-8)


def test_an_even_independent_car_is_four_springs_on_tyres() -> None:
    # Each corner is 20 over 90 N/mm in series, 16.3636; a warp of four equal springs shares
    # a seat offset p as k p / 4 (rigid plate, statics).
    ours = response(even_car(front_axle="independent", rear_axle="independent"))
    expected = (20 * 90 / 110) * 1.5 / 4 / STANDARD_GRAVITY
    assert ours.loads_per_turn[0] == pytest.approx(
        [expected, -expected, -expected, expected], rel=1e-10
    )


@given(st.integers(0, 2**32 - 1))
def test_a_solid_axle_with_springs_at_the_wheels_is_independent(seed: int) -> None:
    rng = np.random.default_rng(seed)
    front, rear = rng.uniform(800.0, 950.0, 2)
    sides = Corners(front / 2, -front / 2, rear / 2, -rear / 2)
    car = random_chassis(rng, track_front=front, track_rear=rear, spring_y=sides)
    fields = {name: getattr(car, name) for name in car.__dataclass_fields__}
    fields.update(front_axle="independent", rear_axle="independent")
    solid, free = response(car), response(Chassis(**fields))
    assert solid.loads_per_turn == pytest.approx(free.loads_per_turn, abs=1e-9)
    assert solid.heights_per_turn == pytest.approx(free.heights_per_turn, abs=1e-9)


def test_lead_and_places_follow_the_frame_of_reference() -> None:
    car = even_car(wheelbase_left=1227.3, wheelbase_right=1252.7)
    assert car.lead == pytest.approx(25.4)
    assert car.wheelbase == pytest.approx(1240.0)
    assert car.wheels == ((1227.3, 440.0), (1252.7, -440.0), (0.0, 440.0), (0.0, -440.0))
    (lf_x, lf_y), (rf_x, rf_y), *rear = car.springs
    assert (lf_y, rf_y) == (300.0, -300.0)
    assert lf_x == pytest.approx(1240.0 - 25.4 * 300 / 880)
    assert rf_x == pytest.approx(1240.0 + 25.4 * 300 / 880)
    assert rear == [(0.0, 300.0), (0.0, -300.0)]


def test_lists_are_taken_as_corners() -> None:
    car = even_car(spring_rate=[20, 20, 20, 20])
    assert car.spring_rate == Corners.same(20.0)
    assert isinstance(response(car), Response)


WRONG = [
    ("wheelbase_left", 0.0, "wheelbase_left"),
    ("wheelbase_right", -1240.0, "wheelbase_right"),
    ("track_front", 0.0, "track_front"),
    ("track_rear", math.nan, "track_rear"),
    ("track_rear", 1e9, "track_rear"),
    ("track_front", 1e-320, "track_front"),
    ("spring_rate", Corners(20.0, -20.0, 20.0, 20.0), "spring_rate RF"),
    ("spring_rate", Corners(20.0, 20.0, 20.0, math.inf), "spring_rate RR"),
    ("spring_rate", (20.0, 20.0), "spring_rate"),
    ("motion_ratio", Corners(1.0, 1.0, 0.0, 1.0), "motion_ratio LR"),
    ("thread", Corners(-1.5, 1.5, 1.5, 1.5), "thread LF"),
    ("tyre_rate", Corners(90.0, 90.0, 90.0, 0.0), "tyre_rate RR"),
    ("spring_y", Corners(-300.0, 300.0, 300.0, -300.0), "spring_y front"),
    ("spring_y", Corners(300.0, -300.0, 250.0, 250.0), "spring_y rear"),
    ("spring_y", Corners(math.nan, -300.0, 300.0, -300.0), "spring_y LF"),
    ("height_points", [(0.0, 0.0)] * 3, "height_points"),
    ("height_points", [(0.0, 0.0, 0.0)] * 4, "height_points"),
    ("height_points", [(0.0, math.inf)] * 4, "height_points y"),
    ("front_axle", "beam", "front_axle"),
    ("rear_axle", None, "rear_axle"),
]


@pytest.mark.parametrize(("field", "value", "named"), WRONG)
def test_what_no_car_can_have_is_named(field: str, value: object, named: str) -> None:
    with pytest.raises(BadInput) as refused:
        even_car(**{field: value})
    assert refused.value.quantity == named


def test_rates_too_unequal_to_compute_with_are_refused() -> None:
    car = even_car(spring_rate=Corners.same(1e-5), tyre_rate=Corners.same(1e6))
    with pytest.raises(Singular) as refused:
        response(car)
    assert refused.value.quantity == "stiffness"


def test_springs_on_one_spot_are_refused() -> None:
    close = Corners(1e-9, -1e-9, 1e-9, -1e-9)
    with pytest.raises(Singular):
        response(even_car(spring_y=close))


@pytest.mark.parametrize("wrong", [math.nan, math.inf])
def test_a_weight_nowhere_is_refused(wrong: float) -> None:
    ours = response(even_car())
    with pytest.raises(BadInput) as refused:
        ours.loads_per_kg(wrong, 0.0)
    assert refused.value.quantity == "x"
    with pytest.raises(BadInput) as refused:
        ours.heights_per_kg(0.0, wrong)
    assert refused.value.quantity == "y"


anything = st.one_of(
    st.floats(), st.floats(1e-12, 1e7), st.floats(0.0, 1e-300), st.floats(1.0, 2000.0)
)
four = st.tuples(anything, anything, anything, anything)


@settings(max_examples=examples(500))
@given(
    st.fixed_dictionaries(
        {},
        optional={
            "wheelbase_left": anything,
            "wheelbase_right": anything,
            "track_front": anything,
            "track_rear": anything,
            "spring_rate": four,
            "motion_ratio": four,
            "thread": four,
            "tyre_rate": four,
            "spring_y": st.builds(lambda a, b: (a, -b, b, -a), anything, anything),
        },
    ),
    anything,
)
def test_nothing_returns_nan(fields: dict[str, object], x: float) -> None:
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        try:
            ours = response(even_car(**fields))
            found = [*ours.loads_per_kg(x, 0.0), *ours.heights_per_kg(x, 0.0)]
        except MechanicsError:
            return
    matrices = (ours.loads_per_turn, ours.heights_per_turn, ours.loads_per_pad_mm)
    assert all(np.all(np.isfinite(matrix)) for matrix in matrices)
    assert all(map(math.isfinite, found))
