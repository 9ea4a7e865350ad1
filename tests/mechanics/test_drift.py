"""Drift against scipy's robust spread."""

import math
import statistics

import numpy as np
import pytest
import scipy.stats
from hypothesis import given
from hypothesis import strategies as st

from cars.mechanics.drift import (
    MAD_FACTOR,
    Place,
    differences,
    drift,
    habit,
)
from cars.mechanics.errors import BadInput, TooThin

SIXTEENTH = 25.4 / 16
LF = Place("ride height", "LF")
RF = Place("ride height", "RF")
LEAD = Place("lead", "car")

series = st.lists(st.floats(-100, 100), min_size=1, max_size=30)


class TestDifferences:
    def test_found_minus_left(self) -> None:
        assert differences({LF: 100.0, RF: 90.0}, {LF: 98.5, RF: 90.0}) == {LF: -1.5, RF: 0.0}

    def test_only_what_was_read_both_times(self) -> None:
        assert differences({LF: 100.0}, {RF: 90.0}) == {}

    @pytest.mark.parametrize("bad", [math.nan, math.inf])
    def test_names_the_place(self, bad: float) -> None:
        with pytest.raises(BadInput) as caught:
            differences({LF: 100.0}, {LF: bad})
        assert caught.value.quantity == "ride height LF"


class TestHabit:
    def test_factor(self) -> None:
        """1.482602218505602, which is 1 / Phi^-1(3/4)."""
        assert pytest.approx(1 / scipy.stats.norm.ppf(0.75), rel=1e-15) == MAD_FACTOR

    @given(series)
    def test_against_scipy(self, past: list[float]) -> None:
        usual = habit(past)
        assert usual.middle == statistics.median(past)
        theirs = scipy.stats.median_abs_deviation(past, scale="normal")
        assert usual.spread == pytest.approx(theirs, rel=1e-12, abs=1e-12)
        assert usual.weekends == len(past)

    def test_one_wild_weekend_hardly_moves_it(self) -> None:
        calm = [0.4, -0.3, 0.2, 0.1, -0.2]
        assert habit([*calm, 60.0]).spread < 2 * habit(calm).spread

    def test_nothing_to_compare_with(self) -> None:
        with pytest.raises(TooThin) as caught:
            habit([])
        assert caught.value.quantity == "differences"


class TestDrift:
    tolerances = {LF: 2 * SIXTEENTH, RF: 2 * SIXTEENTH, LEAD: 1.0}

    def weekends(self, *values: float) -> list[dict[Place, float]]:
        return [{LF: value} for value in values]

    def judge(self, value: float, *past: float, u: float = 0.0) -> str:
        (one,) = drift({LF: value}, self.weekends(*past), self.tolerances, u={LF: u})
        return one.verdict

    def test_a_sixteenth_or_an_eighth_is_within_tolerance(self) -> None:
        """Common practice, no source: that much after a clean weekend is usual."""
        assert self.judge(SIXTEENTH) == "within tolerance"
        assert self.judge(-2 * SIXTEENTH) == "within tolerance"

    @given(st.integers(1, 16 * 60), st.sampled_from([-1, 1]))
    def test_a_sixteenth_is_a_sixteenth_wherever_it_is_read(
        self, sixteenths: int, way: int
    ) -> None:
        """The difference of two figures in binary is a little off; the verdict is not."""
        as_set = sixteenths * SIXTEENTH
        found = round(as_set + way * SIXTEENTH, 10)
        moved = differences({LF: round(as_set, 10)}, {LF: found})
        (one,) = drift(moved, [], {LF: SIXTEENTH})
        assert one.verdict == "within tolerance"

    def test_moved_is_beyond_both(self) -> None:
        assert self.judge(8.0, 0.5, -0.5, 1.0, 0.0, -1.0) == "moved"

    def test_a_car_that_always_settles_is_not_news(self) -> None:
        assert self.judge(-5.0, -4.5, -5.5, -6.0, -4.0, -5.2) == "usual for this car"

    def test_a_car_that_always_settles_and_did_not_twice_over(self) -> None:
        assert self.judge(5.0, -4.5, -5.5, -6.0, -4.0, -5.2) == "moved"

    def test_three_spreads_are_the_line(self) -> None:
        """Past weekends at 0 +-1: the spread is 1.4826, three of them 4.448."""
        past = [-1.0, 1.0, -1.0, 1.0]
        assert self.judge(4.44, *past) == "usual for this car"
        assert self.judge(4.46, *past) == "moved"

    def test_the_tape_sets_the_least_spread(self) -> None:
        """u of one reading 1 mm: of a difference sqrt 2, three of them 4.243."""
        assert self.judge(4.23, 0, 0, 0, 0, u=1.0) == "too little to tell"
        assert self.judge(4.25, 0, 0, 0, 0, u=1.0) == "moved"

    def test_three_weekends_make_no_habit(self) -> None:
        assert self.judge(8.0, 0.1, 0.2, -0.1) == "too few to tell"
        assert self.judge(8.0, 0.1, 0.2, -0.1, 0.0) == "moved"

    def test_a_tape_that_repeats_exactly_does_not_make_everything_unusual(self) -> None:
        """Read to a sixteenth, four equal weekends have no spread of their own."""
        past = [3 * SIXTEENTH] * 4
        assert self.judge(4 * SIXTEENTH, *past) == "moved"
        assert self.judge(4 * SIXTEENTH, *past, u=SIXTEENTH / math.sqrt(12)) == (
            "usual for this car"
        )

    def test_a_step_of_the_tape_where_the_car_never_moves_is_not_usual(self) -> None:
        """Its habit is nothing, and the tape cannot tell a step from nothing; two steps it can."""
        u = SIXTEENTH / math.sqrt(12)
        never, fine = [{LEAD: 0.0}] * 8, {LEAD: SIXTEENTH / 4}
        for steps, verdict in ((-1, "too little to tell"), (2, "moved"), (0, "within tolerance")):
            (one,) = drift({LEAD: steps * SIXTEENTH}, never, fine, u={LEAD: u})
            assert one.verdict == verdict
            assert SIXTEENTH < one.tells < 2 * SIXTEENTH
        (one,) = drift({LEAD: -SIXTEENTH}, [], fine, u={LEAD: u})
        assert one.verdict == "too little to tell", "no habit is needed to know the tape"

    @given(st.integers(-40, 40), st.lists(st.integers(-3, 3), min_size=4, max_size=9))
    def test_usual_is_only_what_the_cars_own_habit_covers(
        self, steps: int, past: list[float]
    ) -> None:
        u = SIXTEENTH / math.sqrt(12)
        weekends = [{LEAD: n * SIXTEENTH} for n in past]
        (one,) = drift({LEAD: steps * SIXTEENTH}, weekends, {LEAD: 0.1}, u={LEAD: u})
        assert one.habit is not None
        away = abs(one.difference - one.habit.middle)
        if one.verdict == "usual for this car":
            told_from_moving = one.tells if abs(one.habit.middle) > 1e-9 else 0.0
            assert away <= max(3 * one.habit.spread, told_from_moving) + 1e-6
        if one.verdict == "moved":
            assert away > max(3 * one.habit.spread, one.tells)

    def test_what_moved_comes_first(self) -> None:
        past = [{LF: 0.0, RF: 0.1, LEAD: 0.0}] * 4
        latest = {LEAD: 0.5, LF: 4.0, RF: 40.0}
        judged = drift(latest, past, self.tolerances)
        assert [one.place for one in judged] == [RF, LF, LEAD]
        assert judged[0].habit is not None
        assert judged[0].habit.weekends == 4

    def test_other_places_history_does_not_count(self) -> None:
        (one,) = drift({RF: 9.0}, self.weekends(0, 0, 0, 0, 0), self.tolerances)
        assert one.verdict == "too few to tell"

    @given(st.floats(-50, 50), st.lists(st.floats(-50, 50), max_size=8))
    def test_the_sign_does_not_matter(self, value: float, past: list[float]) -> None:
        assert self.judge(value, *past) == self.judge(-value, *(-x for x in past))

    def test_false_alarms_are_rare(self) -> None:
        """1000 cars that wander by 2 mm each weekend: few are said to have moved (t-like tails)."""
        rng = np.random.default_rng(7)
        alarms = sum(
            self.judge(value, *past) == "moved"
            for value, past in zip(
                rng.normal(0, 2, 1000), rng.normal(0, 2, (1000, 15)), strict=True
            )
        )
        assert alarms < 40

    @pytest.mark.parametrize(
        ("latest", "tolerances", "u", "quantity"),
        [
            ({LF: math.nan}, {LF: 1.0}, {}, "ride height LF"),
            ({LF: 1.0}, {}, {}, "tolerance"),
            ({LF: 1.0}, {LF: 0.0}, {}, "tolerance of ride height LF"),
            ({LF: 1.0}, {LF: 1.0}, {LF: -1.0}, "u of ride height LF"),
        ],
    )
    def test_names_what_is_wrong(
        self,
        latest: dict[Place, float],
        tolerances: dict[Place, float],
        u: dict[Place, float],
        quantity: str,
    ) -> None:
        with pytest.raises(BadInput) as caught:
            drift(latest, [], tolerances, u=u)
        assert caught.value.quantity == quantity
