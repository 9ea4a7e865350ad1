"""Radius rods against exact geometry, solved here by scipy, and against the trade's rules."""

import math
from typing import Any

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy.optimize import root

from cars.mechanics.errors import BadInput, MechanicsError, Singular
from cars.mechanics.rods import (
    Rod,
    RodTurns,
    moved,
    square_end,
    tilt,
    whole_turns,
)

LENGTH = 400.0


def exact_move(upper: Rod, lower: Rod, turns: RodTurns) -> tuple[float, float]:
    """Where two rods of 400 mm put the carrier when turned: circles solved, nothing linear."""

    def frame_end(rod: Rod) -> np.ndarray:
        side = 1.0 if rod.frame_is == "ahead" else -1.0
        angle = math.radians(rod.angle)
        return np.array([rod.ahead, rod.height]) + LENGTH * np.array(
            [side * math.cos(angle), math.sin(angle)]
        )

    def misses(state: np.ndarray) -> list[float]:
        dx, phi = state
        # Plus rotation takes the top forward.
        turned = np.array([[math.cos(phi), math.sin(phi)], [-math.sin(phi), math.cos(phi)]])
        return [
            float(np.linalg.norm([dx, 0] + turned @ [rod.ahead, rod.height] - frame_end(rod)))
            - (LENGTH + count * rod.per_turn)
            for rod, count in zip((upper, lower), turns, strict=True)
        ]

    solved = root(misses, [0.0, 0.0])
    assert np.abs(solved.fun).max() < 1e-9
    dx, phi = solved.x
    return float(dx), math.degrees(phi)


rods = st.builds(
    Rod,
    threads_per_inch=st.sampled_from([20.0, 24.0, 28.0]),
    height=st.floats(30, 90),
    both_ends=st.booleans(),
    angle=st.floats(-25, 25),
    ahead=st.floats(-40, 40),
    frame_is=st.sampled_from(["ahead", "behind"]),
)


def below(rod: Rod) -> Rod:
    return Rod(rod.threads_per_inch, -rod.height, rod.both_ends, rod.angle, 0, rod.frame_is)


class TestSquareEnd:
    def test_thread(self) -> None:
        """28 threads per inch is 0.9071 mm a turn, twice that with both ends threaded."""
        assert Rod(28, 50).per_turn == pytest.approx(25.4 / 28)
        assert Rod(28, 50, both_ends=True).per_turn == pytest.approx(2 * 25.4 / 28)

    def test_by_hand(self) -> None:
        """Level rods ahead, pins 50 mm above and below: 2 mm forward shortens both by 2 mm."""
        turns = square_end(Rod(25.4, 50), Rod(25.4, -50), fore_aft=2, rotation=0)
        assert turns == pytest.approx((-2, -2))
        turns = square_end(Rod(25.4, 50), Rod(25.4, -50), fore_aft=0, rotation=math.degrees(0.01))
        assert turns == pytest.approx((-0.5, 0.5))

    def test_rods_that_trail_turn_the_other_way(self) -> None:
        ahead = square_end(Rod(28, 50), Rod(28, -50), fore_aft=2, rotation=0.5)
        behind = square_end(
            Rod(28, 50, frame_is="behind"),
            Rod(28, -50, frame_is="behind"),
            fore_aft=2,
            rotation=0.5,
        )
        assert behind == pytest.approx(tuple(-t for t in ahead))

    @given(rods, rods, st.floats(-10, 10), st.floats(-3, 3))
    def test_moved_undoes_it(
        self, upper: Rod, lower: Rod, fore_aft: float, rotation: float
    ) -> None:
        lower = below(lower)
        turns = square_end(upper, lower, fore_aft=fore_aft, rotation=rotation)
        assert moved(upper, lower, turns) == pytest.approx((fore_aft, rotation), abs=1e-9)

    @given(rods, rods, st.floats(-3, 3), st.floats(-0.5, 0.5))
    def test_against_exact_geometry(
        self, upper: Rod, lower: Rod, fore_aft: float, rotation: float
    ) -> None:
        """scipy fsolve on the circles: first order is enough within 3 mm and half a degree."""
        lower = below(lower)
        turns = square_end(upper, lower, fore_aft=fore_aft, rotation=rotation)
        dx, phi = exact_move(upper, lower, turns)
        assert dx == pytest.approx(fore_aft, abs=0.06)
        assert phi == pytest.approx(rotation, abs=0.06)

    def test_departure_of_the_linear_model(self) -> None:
        """As the docstring of square_end states it: 10 mm and 2 degrees, level and inclined."""
        for angle in (0.0, 10.0, 20.0):
            upper, lower = Rod(28, 50, angle=angle), Rod(28, -50, angle=angle)
            dx, phi = exact_move(upper, lower, square_end(upper, lower, fore_aft=10, rotation=2))
            assert abs(dx - 10) < 0.03
            assert abs(phi - 2) < 0.03

    @given(rods, st.floats(0.25, 4))
    def test_equal_turns_move_the_end_and_unequal_rotate_it(self, upper: Rod, turns: float) -> None:
        """Common practice, no source; for equal, parallel rods as the rule supposes."""
        assume(abs(upper.angle) < 20)
        upper = Rod(upper.threads_per_inch, upper.height, upper.both_ends, upper.angle)
        lower = below(upper)
        equal = moved(upper, lower, RodTurns(turns, turns))
        assert equal.rotation == pytest.approx(0, abs=1e-12)
        assert abs(equal.fore_aft) > 0.2 * turns
        opposite = moved(upper, lower, RodTurns(turns, -turns))
        assert opposite.fore_aft == pytest.approx(0, abs=1e-12)
        assert abs(opposite.rotation) > 0

    def test_pins_too_close_hold_no_rotation(self) -> None:
        with pytest.raises(Singular) as caught:
            square_end(Rod(28, 2), Rod(28, -2), fore_aft=1, rotation=0)
        assert caught.value.quantity == "rod spacing"

    def test_rods_whose_lines_meet_on_the_axle_hold_no_rotation(self) -> None:
        """Pins 60 mm apart, but both rods aim at the middle of the axle."""
        aim = math.degrees(math.atan2(30, 60))
        with pytest.raises(Singular):
            square_end(Rod(28, 30, angle=aim, ahead=60), Rod(28, -30, angle=-aim, ahead=60),
                       fore_aft=1, rotation=0)  # fmt: skip

    @pytest.mark.parametrize(
        ("arguments", "quantity"),
        [
            ({"threads_per_inch": 0, "height": 50}, "threads_per_inch"),
            ({"threads_per_inch": -28, "height": 50}, "threads_per_inch"),
            ({"threads_per_inch": math.nan, "height": 50}, "threads_per_inch"),
            ({"threads_per_inch": 28, "height": math.inf}, "rod height"),
            ({"threads_per_inch": 28, "height": 50, "angle": 90}, "rod angle"),
            ({"threads_per_inch": 28, "height": 50, "ahead": 2000}, "rod pin ahead"),
            ({"threads_per_inch": 28, "height": 50, "frame_is": "left"}, "frame_is"),
        ],
    )
    def test_names_what_is_wrong_with_a_rod(self, arguments: dict[str, Any], quantity: str) -> None:
        with pytest.raises(BadInput) as caught:
            Rod(**arguments)
        assert caught.value.quantity == quantity

    @pytest.mark.parametrize("move", [{"fore_aft": math.nan}, {"rotation": 30.0}])
    def test_names_a_move_nobody_makes(self, move: dict[str, float]) -> None:
        with pytest.raises(BadInput) as caught:
            square_end(Rod(28, 50), Rod(28, -50), **({"fore_aft": 0.0, "rotation": 0.0} | move))
        assert caught.value.quantity in move


class TestWholeTurns:
    def test_rounds_to_what_the_rod_end_allows(self) -> None:
        assert whole_turns(RodTurns(1.3, -0.8)) == (1.5, -1.0)
        assert whole_turns(RodTurns(1.3, -0.8), 1 / 6) == pytest.approx((8 / 6, -5 / 6))

    @given(st.floats(-20, 20), st.floats(-20, 20), st.sampled_from([0.25, 0.5, 1.0]))
    def test_never_further_than_half_a_step(self, upper: float, lower: float, step: float) -> None:
        for exact, whole in zip(
            (upper, lower), whole_turns(RodTurns(upper, lower), step), strict=True
        ):
            assert abs(exact - whole) <= step / 2 + 1e-12
            assert whole / step == pytest.approx(round(whole / step))

    def test_refuses_a_step_of_nothing(self) -> None:
        with pytest.raises(BadInput, match="step"):
            whole_turns(RodTurns(1, 1), 0)


class TestTilt:
    def test_by_hand(self) -> None:
        """A level rod behind, 100 mm above the lower pin, 2 mm shorter: the top goes back."""
        assert tilt(-2, Rod(25.4, 50, frame_is="behind"), 100) == pytest.approx(
            math.degrees(math.atan(0.02))
        )

    def test_a_rod_ahead_adds_caster_when_it_grows(self) -> None:
        assert tilt(1, Rod(28, 50), 100) > 0 > tilt(1, Rod(28, 50, frame_is="behind"), 100)

    @given(rods, st.floats(-4, 4))
    def test_against_exact_geometry(self, upper: Rod, turns: float) -> None:
        """The same move as the two rods' own geometry gives it with the lower one left alone."""
        upper = Rod(upper.threads_per_inch, 50, upper.both_ends, upper.angle, 0, upper.frame_is)
        lower = Rod(28, -50, frame_is=upper.frame_is)
        _, rotation = exact_move(upper, lower, RodTurns(turns, 0))
        assert tilt(turns, upper, 100) == pytest.approx(-rotation, abs=0.25)

    @pytest.mark.parametrize("spacing", [0.0, -10.0, 1.0, math.nan])
    def test_names_a_spacing_that_holds_nothing(self, spacing: float) -> None:
        with pytest.raises(MechanicsError) as caught:
            tilt(1, Rod(28, 50), spacing)
        assert caught.value.quantity == "spacing"
