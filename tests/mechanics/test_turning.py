"""Lead, stagger and the hands against plane geometry done another way."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from cars.mechanics.chassis import Chassis
from cars.mechanics.corners import Corners
from cars.mechanics.errors import BadInput, MechanicsError, OutOfReach
from cars.mechanics.turning import (
    hand_angle,
    lead,
    lead_for,
    lead_radius,
    outer_for,
    stagger_for,
    stagger_radius,
)


def chassis(wheelbase: float = 1231.9, track_front: float = 900.0) -> Chassis:
    same = Corners.same
    return Chassis(
        wheelbase_left=wheelbase,
        wheelbase_right=wheelbase,
        track_front=track_front,
        track_rear=860.0,
        spring_y=Corners(330, -330, 300, -300),
        spring_rate=same(20.0),
        motion_ratio=same(1.0),
        thread=same(1.5),
        tyre_rate=same(90.0),
        height_points=((1000, 300), (1000, -300), (200, 300), (200, -300)),
    )


def crossing(chassis: Chassis, lead: float) -> float:
    """Where the two axle lines meet, from the four wheels as points; the middle turned left."""
    left = np.array([chassis.wheelbase - lead / 2, chassis.track_front / 2])
    right = np.array([chassis.wheelbase + lead / 2, -chassis.track_front / 2])
    # left + s (left - right) on the rear axle's line, x = 0.
    s = -left[0] / (left - right)[0]
    return float((left + s * (left - right))[1])


class TestLead:
    def test_one_inch(self) -> None:
        """Common practice, no source: 48 7/8 in right and 47 7/8 in left is one inch of lead."""
        assert lead(47.875 * 25.4, 48.875 * 25.4) == pytest.approx(25.4)

    def test_a_longer_left_is_minus(self) -> None:
        assert lead(1220, 1210) == -10

    @pytest.mark.parametrize("bad", [0.0, -1.0, math.nan, math.inf])
    def test_names_the_wheelbase(self, bad: float) -> None:
        with pytest.raises(BadInput) as caught:
            lead(bad, 1200)
        assert caught.value.quantity == "wheelbase_left"
        with pytest.raises(BadInput) as caught:
            lead(1200, bad)
        assert caught.value.quantity == "wheelbase_right"


class TestLeadRadius:
    def test_five_degrees(self) -> None:
        """R = L / tan delta, a published relation: 1231.9 mm at 5 degrees is 14080.68143 mm."""
        car = chassis()
        five = car.track_front * math.tan(math.radians(5))
        assert lead_radius(car, five) == pytest.approx(14080.68143, abs=1e-5)

    @given(st.floats(1, 120), st.floats(1000, 1500), st.floats(700, 1100))
    def test_against_the_crossing_of_the_axles(
        self, lead: float, wheelbase: float, track: float
    ) -> None:
        car = chassis(wheelbase, track)
        assert lead_radius(car, lead) == pytest.approx(crossing(car, lead), rel=1e-9)

    def test_straight_without_lead(self) -> None:
        assert lead_radius(chassis(), 0) == math.inf

    def test_left_and_right(self) -> None:
        assert lead_radius(chassis(), 10) == -lead_radius(chassis(), -10) > 0

    @given(st.floats(3000, 60000))
    def test_lead_for_is_the_inverse(self, radius: float) -> None:
        car = chassis()
        assert lead_radius(car, lead_for(car, radius)) == pytest.approx(radius)
        assert lead_for(car, -radius) == pytest.approx(-lead_for(car, radius))

    @pytest.mark.parametrize("bad", [math.nan, 600.0])
    def test_names_the_lead(self, bad: float) -> None:
        with pytest.raises(BadInput) as caught:
            lead_radius(chassis(), bad)
        assert caught.value.quantity == "lead"


class TestStagger:
    def test_rolling_cone(self) -> None:
        """Similarity, from memory: t 860, Co 870, Ci 850 rolls on 36980 mm, 37410 outside."""
        middle = stagger_radius(860, 870, 850)
        assert middle == pytest.approx(36980)
        assert (middle + 430, middle - 430) == pytest.approx((37410, 36550))

    def test_the_outer_tyre(self) -> None:
        assert outer_for(860, 15000, 850) == pytest.approx(900.1715854, abs=1e-7)
        assert stagger_for(860, 15000, 850) == pytest.approx(50.1715854, abs=1e-7)

    @given(st.floats(500, 1200), st.floats(2000, 80000), st.floats(600, 1100))
    def test_both_tyres_make_as_many_turns_on_their_circles(
        self, track: float, radius: float, inner: float
    ) -> None:
        """Checked on the ground: distance rolled over circumference, both sides alike."""
        outer = inner + stagger_for(track, radius, inner)
        laps_outer = 2 * math.pi * (radius + track / 2) / outer
        laps_inner = 2 * math.pi * (radius - track / 2) / inner
        assert laps_outer == pytest.approx(laps_inner, rel=1e-12)
        assert stagger_radius(track, outer, inner) == pytest.approx(radius, rel=1e-6)

    def test_equal_tyres_roll_straight(self) -> None:
        assert stagger_radius(860, 850, 850) == math.inf

    def test_a_larger_inner_tyre_turns_right(self) -> None:
        assert stagger_radius(860, 850, 870) == pytest.approx(-36980)

    def test_a_radius_inside_the_track(self) -> None:
        with pytest.raises(OutOfReach) as caught:
            stagger_for(860, 430, 850)
        assert caught.value.quantity == "radius"

    @pytest.mark.parametrize("place", [0, 1, 2])
    @pytest.mark.parametrize("bad", [0.0, -5.0, math.nan])
    def test_names_what_is_wrong(self, place: int, bad: float) -> None:
        names = ("track", "radius", "c_inner")
        arguments = [860.0, 15000.0, 850.0]
        arguments[place] = bad
        with pytest.raises(MechanicsError) as caught:
            stagger_for(*arguments)
        assert caught.value.quantity == names[place]


class TestHands:
    def test_zero_is_what_the_handler_is_after(self) -> None:
        car = chassis()
        assert hand_angle(car, 15000, lead_for(car, 15000), 6) == pytest.approx(0, abs=1e-12)

    def test_by_hand(self) -> None:
        """Without lead the hands hold the whole corner: 6 atan(1231.9 / 15000) = 28.17 degrees."""
        assert hand_angle(chassis(), 15000, 0, 6) == pytest.approx(28.169, abs=1e-3)

    @given(st.floats(6000, 50000), st.floats(0, 100), st.floats(1, 12))
    def test_more_lead_takes_the_hands_off(self, radius: float, lead: float, ratio: float) -> None:
        car = chassis()
        assert hand_angle(car, radius, lead + 1, ratio) < hand_angle(car, radius, lead, ratio)

    def test_too_much_lead_steers_against_it(self) -> None:
        car = chassis()
        assert hand_angle(car, 15000, lead_for(car, 15000) + 10, 6) < 0

    def test_on_the_straight_the_hands_hold_the_lead(self) -> None:
        car = chassis()
        wanted = -6 * math.degrees(math.atan(25.4 / 900))
        assert hand_angle(car, math.inf, 25.4, 6) == pytest.approx(wanted)

    @pytest.mark.parametrize(
        ("radius", "lead", "ratio", "quantity"),
        [
            (400, 10, 6, "corner_radius"),
            (math.nan, 10, 6, "corner_radius"),
            (15000, math.inf, 6, "lead"),
            (15000, 10, 0, "steering_ratio"),
        ],
    )
    def test_names_what_is_wrong(
        self, radius: float, lead: float, ratio: int, quantity: str
    ) -> None:
        with pytest.raises(BadInput) as caught:
            hand_angle(chassis(), radius, lead, ratio)
        assert caught.value.quantity == quantity
