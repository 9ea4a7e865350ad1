"""Did it help: verdicts, doubts, and how many more runs would tell."""

import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
import scipy.stats

from cars.mechanics.errors import BadInput, TooThin
from cars.mechanics.helped import (
    Conditions,
    Help,
    TimedRun,
    did_it_help,
    doubts,
    verdict_of,
)
from cars.mechanics.laps import RunLaps
from cars.mechanics.more_runs import continued, next_group, runs_to_tell, separates
from cars.mechanics.run_levels import Posterior, Prior, change_of
from cars.mechanics.run_likelihood import Level, Trend

STEADY = Prior(run_scatter=0.02, run_dof=40.0)


def timed(order: int, middle: float, *, day: int = 0, laps: int = 12) -> TimedRun:
    """A run whose laps lie by turns on either side of its middle."""
    away = 0.05 * (-1.0) ** np.arange(laps)
    away -= away.mean()
    return TimedRun(day, order, RunLaps.proposed(tuple(middle + away)))


def under(order: int, **conditions: Any) -> TimedRun:
    """A run that was driven under these conditions."""
    return replace(timed(order, 7.5), conditions=Conditions(**conditions))


def groups(
    order: str, before: float = 7.5, after: float = 7.5, *, day: int = 0
) -> dict[str, list[TimedRun]]:
    runs: dict[str, list[TimedRun]] = {"A": [], "B": []}
    for place, group in enumerate(order):
        runs[group].append(timed(place, before if group == "A" else after, day=day))
    return runs


def ask(order: str, before: float = 7.5, after: float = 7.5, **options: Any) -> Help:
    runs = groups(order, before, after)
    return did_it_help(runs["A"], runs["B"], **options)


class TestVerdict:
    @pytest.mark.parametrize(
        ("low", "high", "separates", "verdict"),
        [
            (-0.2, -0.001, True, "faster"),
            (0.001, 0.2, True, "slower"),
            (-0.2, 0.0, True, "cannot tell"),
            (0.0, 0.2, True, "cannot tell"),
            (-0.2, -0.001, False, "cannot tell"),
            (0.001, 0.2, False, "cannot tell"),
            (-0.049, 0.049, True, "no difference worth having"),
            (-0.05, 0.049, True, "cannot tell"),
            (-0.049, 0.05, True, "cannot tell"),
            (-0.049, -0.01, True, "faster"),
            (0.01, 0.049, True, "slower"),
            (-0.049, -0.01, False, "no difference worth having"),
            (0.01, 0.049, False, "no difference worth having"),
            (-0.2, 0.2, True, "cannot tell"),
        ],
    )
    def test_by_the_interval(self, low: float, high: float, separates: bool, verdict: str) -> None:
        assert verdict_of(low, high, 0.05, pair=False, separates=separates) == verdict
        assert verdict_of(low, high, 0.05, pair=True, separates=separates) == "cannot tell"

    def test_worth_having_is_the_teams(self) -> None:
        assert verdict_of(-0.06, 0.06, 0.07, pair=False, separates=True) == (
            "no difference worth having"
        )

    def test_faster_slower_and_neither(self) -> None:
        assert ask("ABABAB", 7.5, 7.2, prior=STEADY).verdict == "faster"
        assert ask("ABABAB", 7.5, 7.8, prior=STEADY).verdict == "slower"
        assert ask("ABABABABABAB", prior=STEADY).verdict == "no difference worth having"
        assert ask("ABA", 7.5, 7.45).verdict == "cannot tell"

    def test_below_zero_is_faster(self) -> None:
        said = ask("ABABAB", 7.5, 7.2, prior=STEADY)
        assert said.difference_s == pytest.approx(-0.3, abs=1e-9)
        assert said.low_s < said.difference_s < said.high_s < 0.0

    def test_one_pair_never_tells_and_offers_a_again(self) -> None:
        for after in (6.0, 7.5, 9.0):
            said = ask("AB", 7.5, after, prior=STEADY, trend=Trend(slope=0.001, bend=0.0))
            assert said.verdict == "cannot tell"
            assert said.next_group == "before"
        assert ask("ABA", 7.5, 6.0, prior=STEADY).verdict == "faster"

    def test_an_order_that_does_not_separate_never_says_faster(self) -> None:
        for order in ("AABB", "AAABBB", "ABB", "BBA"):
            assert ask(order, 7.5, 6.0, prior=STEADY).verdict == "cannot tell"
        assert ask("AABBA", 7.5, 6.0, prior=STEADY).verdict == "faster"

    def test_a_pair_of_days_is_a_pair(self) -> None:
        narrow = replace(STEADY, day_spread=0.01, day_dof=40.0)
        one, other = groups("AAA")["A"], groups("BBB", after=7.0, day=1)["B"]
        assert did_it_help(one, other, prior=narrow).verdict == "cannot tell"
        again = [replace(run, day=2) for run in one]
        assert did_it_help([*one, *again], other, prior=narrow).verdict == "faster"
        assert did_it_help([*one, *again], other).verdict == "cannot tell"  # days differ so much


class TestTwoGroups:
    def test_without_prior_and_trend_it_is_the_t_test(self) -> None:
        """No lap is marked: the run means, whatever the number of laps, to 1e-9."""
        before = [timed(0, 7.52), timed(2, 7.47, laps=6), timed(4, 7.55)]
        after = [timed(1, 7.44, laps=15), timed(3, 7.41)]
        said = did_it_help(before, after, prior=None, trend=None)
        theirs = scipy.stats.ttest_ind([7.44, 7.41], [7.52, 7.47, 7.55])
        interval = theirs.confidence_interval(0.95)
        assert (said.low_s, said.high_s) == pytest.approx(tuple(interval), abs=1e-9)

    def test_a_marked_lap_leaves_the_middle(self) -> None:
        runs = groups("ABA", 7.5, 7.4)
        plain = did_it_help(runs["A"], runs["B"])
        laps = runs["B"][0].laps
        slow = RunLaps.proposed((*laps.seconds, 9.9), 0.1)
        assert slow.counted[-1] is False
        said = did_it_help(runs["A"], [replace(runs["B"][0], laps=slow)])
        assert said.difference_s == pytest.approx(plain.difference_s, abs=1e-9)

    def test_few_laps_leave_more_open(self) -> None:
        few, many = (
            did_it_help(
                [timed(0, 7.5, laps=laps), timed(2, 7.5, laps=laps)],
                [timed(1, 7.4, laps=laps)],
                prior=STEADY,
            )
            for laps in (2, 40)
        )
        assert few.high_s - few.low_s > 1.5 * (many.high_s - many.low_s)

    def test_the_record_says_how_this_driver_scatters(self) -> None:
        rng = np.random.default_rng(2)
        record = [
            timed(order, 7.5 + day / 10 + rng.normal(0.0, 0.01), day=day)
            for day in range(1, 13)
            for order in range(6)
        ]
        runs = groups("ABA", 7.5, 7.4)
        alone, known = did_it_help(runs["A"], runs["B"]), did_it_help(runs["A"], runs["B"], record)
        assert known.run_scatter_s < 0.5 * alone.run_scatter_s
        assert known.high_s - known.low_s < 0.75 * (alone.high_s - alone.low_s)

    def test_what_is_in_a_group_is_no_record(self) -> None:
        runs = groups("ABAB", 7.5, 7.4)
        alone = did_it_help(runs["A"], runs["B"])
        assert did_it_help(runs["A"], runs["B"], [*runs["A"], *runs["B"]]) == alone

    def test_a_record_of_two_set_ups_has_two_levels(self) -> None:
        def record(setups: str) -> list[TimedRun]:
            return [
                replace(timed(order, 7.5 + 0.5 * (order % 2), day=9), setup=setups[order])
                for order in range(8)
            ]

        runs = groups("ABA", 7.5, 7.4)
        told = did_it_help(runs["A"], runs["B"], record("xyxyxyxy"))
        mixed = did_it_help(runs["A"], runs["B"], record("xxxxxxxx"))
        assert mixed.run_scatter_s > 2.5 * told.run_scatter_s

    def test_the_order_given_does_not_matter(self) -> None:
        runs = groups("ABAB", 7.5, 7.4)
        assert did_it_help(runs["A"][::-1], runs["B"][::-1]) == did_it_help(runs["A"], runs["B"])

    def test_what_is_refused(self) -> None:
        runs = groups("ABA")
        for before, after in (([], runs["B"]), (runs["A"], [])):
            with pytest.raises(TooThin):
                did_it_help(before, after)
        with pytest.raises(BadInput, match="two are run 0 of one day"):
            did_it_help(runs["A"], [timed(0, 7.4)])
        with pytest.raises(BadInput):
            did_it_help(runs["A"], runs["B"], worth=0.0)


class TestDoubts:
    def test_none(self) -> None:
        one = under(0, surface_state="dry", weather="sun", tyres="T1", driver="A", temperature=20)
        assert doubts([one], [replace(one, order=1)]) == ()
        assert did_it_help([one, replace(one, order=2)], [replace(one, order=1)]).warnings == ()

    @pytest.mark.parametrize(
        ("name", "doubt"),
        [
            ("surface_state", "surface state"),
            ("weather", "weather"),
            ("tyres", "tyres"),
            ("driver", "driver"),
        ],
    )
    def test_what_differs(self, name: str, doubt: str) -> None:
        one, other = under(0, **{name: "x"}), under(1, **{name: "y"})
        unsaid = timed(2, 7.5)
        assert doubts([one], [other]) == (doubt,)
        assert doubts([one], [one, other]) == (doubt,)
        assert doubts([one, other], [other, one]) == ()
        assert doubts([one], [unsaid]) == ()
        assert doubts([unsaid], [one]) == ()
        assert doubts([one, unsaid], [one]) == ()

    def test_warmer_by_more_than_five_degrees(self) -> None:
        def between(one: float | None, other: float | None) -> tuple[str, ...]:
            return doubts([under(0, temperature=one)], [under(1, temperature=other)])

        assert between(20.0, 25.0) == ()
        assert between(20.0, 25.1) == ("weather",)
        assert between(25.1, 20.0) == ("weather",)
        assert between(20.0, None) == ()
        assert between(None, 40.0) == ()

    def test_timed_by_hand(self) -> None:
        one, other = timed(0, 7.5), timed(1, 7.5)
        hand = replace(other, laps=replace(other.laps, by_hand=True))
        assert doubts([one], [hand]) == doubts([hand], [one]) == ("timed by hand",)

    def test_all_at_once_in_one_order(self) -> None:
        one = under(0, surface_state=1, weather=1, tyres=1, driver=1)
        other = under(1, surface_state=2, weather=2, tyres=2, driver=2)
        hand = replace(other, laps=replace(other.laps, by_hand=True))
        assert doubts([one], [hand]) == (
            *("surface state", "weather", "tyres", "driver", "timed by hand"),
        )


def levels(order: str, *, day: int = 0) -> list[Level]:
    return [
        Level(day, float(place), float(group == "B"), 7.5, 0.001)
        for place, group in enumerate(order)
    ]


class TestOrder:
    @pytest.mark.parametrize("order", ["ABA", "BAB", "AABBA", "ABAB", "AABBBA", "ABBA"])
    def test_separates(self, order: str) -> None:
        assert separates(levels(order))

    @pytest.mark.parametrize("order", ["AB", "BA", "AABB", "AAABBB", "ABBB"])
    def test_does_not(self, order: str) -> None:
        assert not separates(levels(order))

    def test_one_day_that_does_is_enough_and_two_halves_are_not(self) -> None:
        assert separates([*levels("AABB"), *levels("ABA", day=1)])
        assert not separates([*levels("AB"), *levels("BA", day=1)])
        assert not separates([*levels("AB"), *levels("A", day=1), *levels("B", day=2)])

    def test_days_apart(self) -> None:
        assert not separates([*levels("AA"), *levels("BB", day=1)])
        assert separates([*levels("AA"), *levels("BB", day=1), *levels("A", day=2)])

    @pytest.mark.parametrize(
        ("driven", "following"),
        [
            ("", "A"),
            ("A", "B"),
            ("AB", "A"),
            ("ABA", "B"),
            ("AAABBB", "A"),
            ("ABBA", "B"),
            ("BBA", "A"),
            ("AAB", "B"),
            ("BA", "B"),
        ],
    )
    def test_what_is_next(self, driven: str, following: str) -> None:
        after = [float(group == "B") for group in driven]
        assert next_group(after) == ("after" if following == "B" else "before")

    def test_going_on(self) -> None:
        runs = continued(levels("AABB"), 3)
        assert [run.after for run in runs] == [0, 0, 1, 1, 0, 1, 0]
        assert [run.order for run in runs] == list(range(7))
        assert {run.day for run in runs} == {0}
        assert runs[-1].variance == pytest.approx(0.001)

    def test_going_on_where_no_day_is_shared(self) -> None:
        runs = continued([*levels("AA"), *levels("BB", day=1)], 4)
        assert [run.after for run in runs[4:]] == [0, 1, 0, 1]
        assert len({run.day for run in runs[4:]} | {0, 1}) == 3


class TestMoreRuns:
    @staticmethod
    def needed(order: str, scatter: float, dof: float = 200.0) -> int | None:
        prior = Prior(run_scatter=scatter, run_dof=dof)
        runs = [level._replace(variance=0.0) for level in levels(order)]
        found: Posterior = change_of(runs, prior=prior, trend=Trend(math.inf, 0.0))
        return runs_to_tell(runs, [], found, prior=prior, trend=Trend(math.inf, 0.0))

    @pytest.mark.parametrize("scatter", [0.03, 0.06, 0.1])
    def test_where_the_scatter_is_known(self, scatter: float) -> None:
        """The fewest with which z >= 1.96 + 0.84: by least squares of A-B-A-B... with a trend."""
        total = 3 + (self.needed("ABA", scatter) or 0)

        def deviation(runs: int) -> float:
            order = np.arange(runs)
            design = np.column_stack((np.ones(runs), order, order % 2))
            return scatter * math.sqrt(np.linalg.inv(design.T @ design)[2, 2])

        reach = scipy.stats.norm.ppf(0.975) + scipy.stats.norm.ppf(0.8)
        exact = next(runs for runs in range(3, 70) if reach * deviation(runs) <= 0.1)
        assert abs(total - exact) <= 2

    def test_a_steady_driver_needs_none_and_a_wild_one_too_many(self) -> None:
        assert self.needed("ABABABAB", 0.02) == 0
        assert self.needed("ABA", 0.5) is None

    def test_an_order_that_does_not_separate_needs_one_at_least(self) -> None:
        assert self.needed("AABB", 0.005) == 1

    def test_what_is_not_known_costs_runs(self) -> None:
        assert (self.needed("ABA", 0.06, 4.0) or 0) > (self.needed("ABA", 0.06) or 0)

    def test_runs_to_come_add_degrees(self) -> None:
        """By the rule itself: v = s^2 times that of least squares, t with 4 and as many as come."""
        more, scatter, order = self.needed("ABA", 0.04, 4.0) or 0, 0.04, np.arange(60)
        parts = scatter**2 * 4 / scipy.stats.chi2.ppf(1 - (np.arange(9) + 0.5) / 9, 4)

        def chance(new: int) -> float:
            runs = order[: 3 + new]
            design = np.column_stack((np.ones(3 + new), runs, runs % 2))
            share = np.linalg.inv(design.T @ design)[2, 2]
            seen = (4 * parts.mean() + new * parts) / (4 + new)
            half = scipy.stats.t.ppf(0.975, 4 + new) * np.sqrt(seen * share)
            true = np.sqrt(parts * share)
            norm = scipy.stats.norm.cdf
            return float(np.mean(norm((0.1 - half) / true) + norm((-0.1 - half) / true)))

        exact = next(new for new in range(60) if chance(new) >= 0.8)
        assert abs(more - exact) <= 1

    def test_tonight_is_what_an_evening_holds(self) -> None:
        said = ask("ABA", prior=Prior(run_scatter=0.05, run_dof=200.0))
        assert said.runs_needed
        assert ask("ABA", prior=Prior(0.05, 200.0), evening=3 + said.runs_needed).tonight
        assert not ask("ABA", prior=Prior(0.05, 200.0), evening=2 + said.runs_needed).tonight
        never = ask("ABA", prior=Prior(run_scatter=0.5, run_dof=200.0))
        assert (never.runs_needed, never.tonight) == (None, False)
