"""Which laps count, a run's middle, and what its laps leave open."""

import math
import statistics

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from cars.mechanics.errors import BadInput, TooThin
from cars.mechanics.laps import (
    LAP_SCATTER,
    PRESS_HALF_WIDTH,
    LapNoise,
    RunLaps,
    checked_laps,
    lap_noise,
    mark_laps,
    middle_variance,
    middle_variances,
    usual_spread,
)

EVEN = (7.50, 7.44, 7.52, 7.48, 7.46, 7.54)
times = st.lists(st.floats(5.0, 20.0), min_size=1, max_size=20)


def all_counted(seconds: tuple[float, ...], *, by_hand: bool = False) -> RunLaps:
    return RunLaps(seconds, (True,) * len(seconds), by_hand)


class TestWhatIsRefused:
    @pytest.mark.parametrize("bad", [0.0, -7.4, 600.001, math.nan, math.inf])
    def test_a_time_that_nobody_drives_is_named(self, bad: float) -> None:
        with pytest.raises(BadInput) as caught:
            checked_laps([7.4, bad, 7.5])
        assert caught.value.quantity == "lap 2"

    def test_ten_minutes_and_five_hundred_laps_are_read(self) -> None:
        assert checked_laps([600.0] * 500) == (600.0,) * 500
        with pytest.raises(BadInput) as caught:
            checked_laps([7.0] * 501)
        assert caught.value.quantity == "laps"

    def test_marks_that_do_not_fit_or_leave_nothing(self) -> None:
        with pytest.raises(BadInput) as caught:
            RunLaps((7.4, 7.5), (True,))
        assert caught.value.quantity == "counted"
        with pytest.raises(TooThin):
            RunLaps((7.4,), (False,))
        with pytest.raises(BadInput):
            RunLaps((0.0,), (True,))

    def test_a_spread_of_nothing(self) -> None:
        with pytest.raises(BadInput) as caught:
            mark_laps(EVEN, 0.0)
        assert caught.value.quantity == "spread"


class TestMarks:
    def test_racing_laps_are_left(self) -> None:
        assert mark_laps(EVEN) == (None,) * 6

    @pytest.mark.parametrize(
        ("seconds", "marks"),
        [
            ((9.0, *EVEN), ("first", *[None] * 6)),
            ((*EVEN, 8.2), (*[None] * 6, "traffic")),
            ((*EVEN, 9.2, *EVEN), (*[None] * 6, "spin", *[None] * 6)),
            ((*EVEN, 9.2, 8.4, *EVEN), (*[None] * 6, "caution", "caution", *[None] * 6)),
            ((*EVEN, 5.5), (*[None] * 6, "too fast")),
            # A slow first lap is no part of the caution after it.
            ((9.0, 8.5, *EVEN), ("first", "traffic", *[None] * 6)),
        ],
    )
    def test_what_a_lap_seems_to_be(
        self, seconds: tuple[float, ...], marks: tuple[str | None, ...]
    ) -> None:
        assert mark_laps(seconds, 0.05) == marks

    def test_a_slow_lap_is_over_three_tenths_and_over_two_and_a_half_spreads(self) -> None:
        def last(slower: float, spread: float) -> str | None:
            return mark_laps([7.5] * 6 + [7.5 + slower], spread)[-1]

        assert last(0.2999, 0.05) is None
        assert last(0.3001, 0.05) == "traffic"
        assert last(0.4999, 0.2) is None
        assert last(0.5001, 0.2) == "traffic"
        assert last(1.4999, 0.05) == "traffic"
        assert last(1.5001, 0.05) == "spin"

    def test_a_lap_on_the_edge_is_traffic(self) -> None:
        assert mark_laps([10.0] * 6 + [12.0], 0.05)[-1] == "traffic"

    def test_a_lap_is_too_fast_under_four_fifths(self) -> None:
        assert mark_laps([10.0] * 6 + [8.0])[-1] is None
        assert mark_laps([10.0] * 6 + [7.999])[-1] == "too fast"

    def test_half_the_laps_may_be_slow(self) -> None:
        marks = mark_laps((7.5, 8.9, 7.4, 8.2, 8.8, 7.45), 0.1)
        assert [mark is None for mark in marks] == [True, False, True, False, False, True]

    def test_fewer_than_three_are_left(self) -> None:
        assert mark_laps([]) == ()
        assert mark_laps([7.5, 60.0]) == (None, None)
        assert mark_laps([7.5, 60.0, 7.5]) == (None, "spin", None)

    def test_a_wild_driver_has_a_wider_rule(self) -> None:
        """Laps that scatter by half a second are not all caution."""
        wild = (7.0, 8.1, 7.4, 7.9, 6.8, 7.6, 7.2, 8.0)
        assert mark_laps(wild) == (None,) * 8
        assert mark_laps(wild, 0.1).count(None) < 8

    @given(times)
    def test_marked_and_never_dropped(self, seconds: list[float]) -> None:
        marks = mark_laps(seconds)
        assert len(marks) == len(seconds)
        assert None in marks
        run = RunLaps.proposed(seconds)
        assert run.seconds == tuple(seconds)
        assert run.counted == tuple(mark is None for mark in marks)

    def test_proposed_takes_the_spread_and_the_hand(self) -> None:
        run = RunLaps.proposed([7.5] * 6 + [7.9], 0.2, by_hand=True)
        assert all(run.counted)
        assert run.by_hand
        assert not all(RunLaps.proposed([7.5] * 6 + [7.9], 0.1).counted)


class TestUsualSpread:
    def test_from_the_fast_side_and_drawn_to_the_usual(self) -> None:
        """Two runs, medians 7.5 and 8: away 0, 0.1, 0.2 and 0, 0.1, 0.3, median 0.1."""
        own = 1.482602218505602 * 0.1
        spread = usual_spread([[7.3, 7.4, 7.5, 9.0, 9.9], [7.7, 7.9, 8.0, 8.1, 60.0]])
        assert spread == pytest.approx(math.sqrt((4 * 0.15**2 + 6 * own**2) / 10), rel=1e-12)

    def test_nothing_known(self) -> None:
        assert usual_spread([]) == pytest.approx(LAP_SCATTER, rel=1e-12)
        assert usual_spread([[]]) == pytest.approx(LAP_SCATTER, rel=1e-12)


class TestMiddle:
    def test_the_mean_of_what_counts(self) -> None:
        run = RunLaps((7.4, 9.0, 7.6), (True, False, True))
        assert run.middle == pytest.approx(7.5, rel=1e-12)

    def test_alike_laps_that_do_not_follow(self) -> None:
        """sigma^2 / m."""
        assert middle_variance(all_counted(EVEN), LapNoise(0.06, 0.0)) == pytest.approx(0.01)

    def test_presses_of_neighbours_cancel(self) -> None:
        """m laps in a row are one stretch between two presses: 2 u^2 / m^2."""
        u = PRESS_HALF_WIDTH / math.sqrt(3.0)
        run = all_counted(EVEN, by_hand=True)
        assert middle_variance(run, LapNoise(0.0, 0.0)) == pytest.approx(2 * u**2 / 36)
        apart = RunLaps(EVEN, (True, False, True, False, True, False), by_hand=True)
        assert middle_variance(apart, LapNoise(0.0, 0.0)) == pytest.approx(6 * u**2 / 9)

    def test_many_at_once(self) -> None:
        runs = [
            RunLaps(EVEN, (True, False, True, True, True, False), by_hand=True),
            all_counted(EVEN[:4]),
            all_counted(EVEN[:1], by_hand=True),
        ]
        noise = LapNoise(0.04, 0.3)
        assert middle_variances(runs, noise) == pytest.approx(
            [middle_variance(run, noise) for run in runs], rel=1e-12
        )

    @pytest.mark.parametrize("lag_1", [0.0, 0.5])
    def test_by_simulation_with_a_hand_on_the_watch(self, lag_1: float) -> None:
        """40,000 runs of ten laps, two of which do not count; 3 % is four of its deviations."""
        rng = np.random.default_rng(3)
        counted = (True, True, False, True, True, True, False, True, True, True)
        scatter = np.empty((40_000, 10))
        shocks = rng.normal(0.0, 0.1, scatter.shape)
        scatter[:, 0] = shocks[:, 0]
        for lap in range(1, 10):
            scatter[:, lap] = lag_1 * scatter[:, lap - 1] + math.sqrt(1 - lag_1**2) * shocks[:, lap]
        presses = rng.uniform(-PRESS_HALF_WIDTH, PRESS_HALF_WIDTH, (40_000, 11))
        seen = 7.5 + scatter + np.diff(presses, axis=1)
        middles = seen[:, np.array(counted)].mean(axis=1)
        run = RunLaps((7.5,) * 10, counted, by_hand=True)
        expected = middle_variance(run, LapNoise(0.01, lag_1))
        assert middles.var() == pytest.approx(expected, rel=0.03)


class TestLapNoise:
    def test_independent_laps_against_the_pooled_variance(self) -> None:
        """Q0 / (n - runs) where lag_1 comes to 0, drawn to 0.15 s with four degrees."""
        runs = [all_counted((7.4, 7.6, 7.4, 7.6, 7.4, 7.6)), all_counted((8.0, 8.3, 8.0))]
        noise = lap_noise(runs)
        assert noise.lag_1 == 0.0
        pooled = 5 * statistics.variance(runs[0].seconds) + 2 * statistics.variance(runs[1].seconds)
        assert noise.variance == pytest.approx((4 * 0.15**2 + pooled) / 11, rel=1e-12)

    @pytest.mark.parametrize("by_hand", [False, True])
    @pytest.mark.parametrize("lag_1", [0.0, 0.3, 0.6])
    def test_finds_what_laps_were_made_of(self, lag_1: float, by_hand: bool) -> None:
        """400 runs of six to twelve laps, some not counted: unbiased though runs are short."""
        rng = np.random.default_rng(11)
        runs = []
        for _ in range(400):
            count = int(rng.integers(6, 13))
            noise = rng.normal(0.0, 0.2, count)
            for lap in range(1, count):
                noise[lap] = lag_1 * noise[lap - 1] + math.sqrt(1 - lag_1**2) * noise[lap]
            if by_hand:
                noise += np.diff(rng.uniform(-PRESS_HALF_WIDTH, PRESS_HALF_WIDTH, count + 1))
            counted = tuple(bool(c) for c in rng.random(count) > 0.1)
            runs.append(RunLaps(tuple(7.5 + noise), counted, by_hand))
        found = lap_noise(runs)
        assert math.sqrt(found.variance) == pytest.approx(0.2, rel=0.06)
        assert found.lag_1 == pytest.approx(lag_1, abs=0.101)

    def test_laps_steadier_than_the_hand(self) -> None:
        """What is less than a hand can do leaves no scatter of the driver's but the usual."""
        noise = lap_noise([all_counted((7.5,) * 9, by_hand=True)])
        assert tuple(noise) == pytest.approx((4 * 0.15**2 / 12, 0.0))

    def test_single_laps(self) -> None:
        assert tuple(lap_noise([all_counted((7.5,))])) == pytest.approx((0.15**2, 0.0))
