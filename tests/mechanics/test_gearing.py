"""Gearing, chains and springs against published values and exact geometry."""

import math
from collections.abc import Sequence
from typing import Any

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from cars.mechanics import STANDARD_GRAVITY, Corners, response
from cars.mechanics.errors import BadInput, MechanicsError, OutOfReach
from cars.mechanics.gearing import (
    centre_distance,
    chain_length,
    engine_speed,
    gear_ratio,
    ground_speed,
    touching_distance,
    whole_chain,
)
from cars.mechanics.springs import coil_rate, in_series, spring_places, wheel_rates
from tests.mechanics.car_cases import even_car

PSI = 6894.757293168361e-6  # N/mm2, NIST SP 811
LBF_PER_INCH = 0.1751268352464764  # N/mm, NIST SP 811


def belt_length(small: int, large: int, centre: float) -> float:
    """Exact length of a belt on the pitch circles N / (2 pi), in pitches."""
    r, big_r = small / (2 * math.pi), large / (2 * math.pi)
    lean = math.asin((big_r - r) / centre)
    straight = 2 * centre * math.cos(lean)
    return straight + r * (math.pi - 2 * lean) + big_r * (math.pi + 2 * lean)


class TestChain:
    def test_published_value(self) -> None:
        """34 and 17 teeth, 38 pitches apart: 101.6926436 links."""
        assert chain_length(17, 34, 38) == pytest.approx(101.6926436, abs=1e-7)
        assert chain_length(34, 17, 38) == chain_length(17, 34, 38)
        assert whole_chain(101.6926436) == 102

    @given(st.integers(10, 25), st.integers(10, 80), st.floats(20, 60))
    def test_against_the_exact_belt(self, driving: int, driven: int, centre: float) -> None:
        small, large = sorted((driving, driven))
        assume(large <= 4 * small)
        short = belt_length(small, large, centre) - chain_length(driving, driven, centre)
        assert -1e-9 <= short <= (0.1 if centre < 35 else 0.02)

    @given(st.integers(8, 30), st.integers(8, 90), st.floats(30, 80))
    def test_centre_distance_is_the_inverse(self, driving: int, driven: int, centre: float) -> None:
        links = chain_length(driving, driven, centre)
        assert centre_distance(driving, driven, links) == pytest.approx(centre)

    def test_a_hundredth_over_does_not_cost_two_links(self) -> None:
        assert whole_chain(100.009) == 100
        assert whole_chain(100.02) == 102

    @given(st.floats(20, 200))
    def test_chains_join_in_pairs(self, links: float) -> None:
        whole = whole_chain(links)
        assert whole % 2 == 0
        assert -0.011 <= whole - links < 2

    @pytest.mark.parametrize(
        ("driving", "driven", "links"),
        [(17, 34, 20), (30, 30, 20), (30, 30, 30), (17, 34, 30)],
        ids=["by far", "less than half round each", "exactly half round each", "not across"],
    )
    def test_too_short_a_chain(self, driving: int, driven: int, links: int) -> None:
        with pytest.raises(OutOfReach) as caught:
            centre_distance(driving, driven, links)
        assert caught.value.quantity == "links"

    def test_sprockets_that_touch(self) -> None:
        with pytest.raises(OutOfReach) as caught:
            chain_length(17, 34, 8)
        assert caught.value.quantity == "centre_distance"

    def test_the_sprockets_touch_where_their_pitch_circles_meet(self) -> None:
        """Six teeth: a hexagon of side 1, whose corners lie 1 from its middle."""
        assert touching_distance(6, 6) == pytest.approx(2.0)
        with pytest.raises(OutOfReach):
            chain_length(6, 6, 2.0)
        assert chain_length(6, 6, 2.001) == pytest.approx(10.002)

    @pytest.mark.parametrize("teeth", [0, -3, 4, 17.5, math.nan])
    def test_names_the_sprocket(self, teeth: Any) -> None:
        with pytest.raises(BadInput) as caught:
            chain_length(teeth, 34, 38)
        assert caught.value.quantity == "driving teeth"


class TestSpeed:
    def test_reference_value(self) -> None:
        """6000 rpm, 12 to 60 teeth, 850 mm: 17.0 m/s."""
        assert ground_speed(6000, gear_ratio((12, 60)), 850) == pytest.approx(17.0)

    def test_stages_multiply(self) -> None:
        assert gear_ratio((10, 20), (12, 36)) == pytest.approx(6)

    @given(st.floats(500, 12000), st.floats(1, 12), st.floats(500, 1200))
    def test_engine_speed_is_the_inverse(
        self, rpm: float, ratio: float, circumference: float
    ) -> None:
        speed = ground_speed(rpm, ratio, circumference)
        assert engine_speed(speed, ratio, circumference) == pytest.approx(rpm)

    @pytest.mark.parametrize("place", [0, 1, 2])
    def test_names_what_is_wrong(self, place: int) -> None:
        arguments = [6000.0, 5.0, 850.0]
        arguments[place] = 0.0
        with pytest.raises(BadInput) as caught:
            ground_speed(*arguments)
        assert caught.value.quantity == ("engine_rpm", "ratio", "circumference")[place]

    def test_needs_a_stage(self) -> None:
        with pytest.raises(BadInput, match="stages"):
            gear_ratio()


class TestSprings:
    def test_shigley(self) -> None:
        """Shigley 10th ed., example 10-1: published 4.13 lbf/in."""
        rate = coil_rate(0.037 * 25.4, 0.4 * 25.4, 10.5, 11.85e6 * PSI) / LBF_PER_INCH
        assert rate == pytest.approx(4.131102651, abs=1e-9)
        assert round(rate, 2) == 4.13

    def test_on_its_tyre(self) -> None:
        assert in_series(17.5, 90) == pytest.approx(14.65116279, abs=1e-8)

    @given(st.lists(st.floats(1, 500), min_size=1, max_size=5))
    def test_is_softer_than_its_softest(self, rates: Sequence[float]) -> None:
        assert in_series(*rates) <= min(rates) * (1 + 1e-12)
        moved = sum(100 / rate for rate in rates)
        assert in_series(*rates) * moved == pytest.approx(100)

    @pytest.mark.parametrize(
        ("arguments", "quantity"),
        [
            ((0, 60, 6), "wire"),
            ((61, 60, 6), "wire"),
            ((8, -60, 6), "mean_diameter"),
            ((8, 60, 0), "active_coils"),
            ((8, 60, 6, math.nan), "shear"),
        ],
    )
    def test_names_what_is_wrong_with_a_coil(
        self, arguments: tuple[float, ...], quantity: str
    ) -> None:
        with pytest.raises(BadInput) as caught:
            coil_rate(*arguments)
        assert caught.value.quantity == quantity

    @pytest.mark.parametrize("rates", [(), (0.0,), (10.0, -1.0)])
    def test_refuses_a_spring_that_is_none(self, rates: Sequence[float]) -> None:
        with pytest.raises(MechanicsError, match="rate"):
            in_series(*rates)


class TestWheelRates:
    def test_by_hand(self) -> None:
        """17.5 N/mm with a ratio of 0.9, at three quarters of half the track, on 90 N/mm."""
        found = wheel_rates(17.5, 0.9, 90.0, 0.75)
        assert found.wheel_rate == pytest.approx(14.175)
        assert found.ride_rate == pytest.approx(14.175 * 90 / 104.175)
        assert found.ride_rate_in_roll == pytest.approx(7.9734375 * 90 / 97.9734375)

    def test_a_spring_in_the_middle_holds_no_roll(self) -> None:
        assert wheel_rates(17.5, 0.9, 90.0, 0.0).ride_rate_in_roll == 0.0

    @pytest.mark.parametrize("ratio", [0.6, 1.0, 1.2])
    @pytest.mark.parametrize("axle", ["solid", "independent"])
    def test_the_whole_car_sinks_and_leans_by_them(self, ratio: float, axle: str) -> None:
        """A kilogram in the middle sinks an even car, and one 100 mm to the left leans it too."""
        car = even_car(motion_ratio=Corners.same(ratio), front_axle=axle, rear_axle=axle)
        places = spring_places(car)
        assert places == Corners.same(1.0 if axle == "independent" else 300 / 440)
        rates = wheel_rates(20.0, ratio, 90.0, places.lf)
        ours = response(car)
        sunk = ours.heights_per_kg(620.0, 0.0)
        assert list(sunk) == pytest.approx([-STANDARD_GRAVITY / (4 * rates.ride_rate)] * 4)
        leant = ours.heights_per_kg(620.0, 100.0)
        # Height points 700 mm apart on a car that four wheels 440 mm from its middle hold.
        angle = STANDARD_GRAVITY * 100.0 / (4 * rates.ride_rate_in_roll * 440.0**2)
        assert leant.rf - leant.lf == pytest.approx(700.0 * angle)

    @pytest.mark.parametrize(
        ("arguments", "quantity"),
        [
            ((0.0, 1.0, 90.0), "spring_rate"),
            ((20.0, 0.0, 90.0), "motion_ratio"),
            ((20.0, 1.0, -1.0), "tyre_rate"),
            ((20.0, 1.0, 90.0, -0.1), "place"),
        ],
    )
    def test_names_what_is_wrong(self, arguments: tuple[float, ...], quantity: str) -> None:
        with pytest.raises(BadInput) as caught:
            wheel_rates(*arguments)
        assert caught.value.quantity == quantity
