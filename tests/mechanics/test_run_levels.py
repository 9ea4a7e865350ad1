"""The model behind 'did it help', against scipy's t test and statsmodels' mixed model."""

import math
import warnings

import numpy as np
import pandas as pd
import pytest
import scipy.integrate
import scipy.stats
import statsmodels.formula.api as smf
from hypothesis import given, settings
from hypothesis import strategies as st

from cars.mechanics.errors import BadInput, TooThin
from cars.mechanics.run_levels import Prior, change_of, change_variances, degrees_left
from cars.mechanics.run_likelihood import Level, Trend

FREE = Trend(slope=math.inf, bend=0.0)


def levels(
    groups: str, middles: list[float], *, day: int = 0, variance: float = 0.0
) -> list[Level]:
    return [
        Level(day, float(order), float(group == "B"), middle, variance)
        for order, (group, middle) in enumerate(zip(groups, middles, strict=True))
    ]


middle = st.floats(5.0, 10.0)


class TestStudent:
    @given(st.lists(middle, min_size=1, max_size=12), st.lists(middle, min_size=2, max_size=12))
    @settings(max_examples=50)
    def test_without_prior_and_trend_it_is_the_t_test_of_run_means(
        self, before: list[float], after: list[float]
    ) -> None:
        """Difference and both ends of its interval, to 1e-9 of the scatter."""
        pooled = np.std(
            [*(np.array(before) - np.mean(before)), *(np.array(after) - np.mean(after))]
        )
        if pooled < 1e-6:
            return
        runs = levels("A" * len(before) + "B" * len(after), [*before, *after], variance=0.1)
        ours = change_of(runs, prior=None, trend=None)
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # scipy's, of values all alike in one group
            theirs = scipy.stats.ttest_ind(after, before).confidence_interval(0.95)
        assert ours.mean == pytest.approx(np.mean(after) - np.mean(before), abs=1e-9 * pooled)
        assert ours.quantile(0.025) == pytest.approx(theirs.low, rel=1e-9, abs=1e-9 * pooled)
        assert ours.quantile(0.975) == pytest.approx(theirs.high, rel=1e-9, abs=1e-9 * pooled)

    def test_with_a_free_trend_it_is_least_squares(self) -> None:
        """One day: change, slope and mean by least squares, Student's t with n - 3."""
        groups, middles = "ABABBA", [7.50, 7.38, 7.44, 7.36, 7.30, 7.41]
        ours = change_of(levels(groups, middles), prior=None, trend=FREE)
        design = np.array([[1.0, order, group == "B"] for order, group in enumerate(groups)])
        found, rest, _, _ = np.linalg.lstsq(design, np.array(middles))
        variance = float(rest[0]) / 3 * np.linalg.inv(design.T @ design)[2, 2]
        assert ours.mean == pytest.approx(found[2], abs=1e-9)
        half = scipy.stats.t.ppf(0.975, 3) * math.sqrt(variance)
        assert ours.quantile(0.975) == pytest.approx(found[2] + half, abs=1e-9)

    def test_with_the_prior_alone_it_is_its_own_t(self) -> None:
        """A-B-A leaves nothing over: t with the prior's degrees, 0.08 s and no laps open."""
        ours = change_of(levels("ABA", [7.5, 7.3, 7.5]), prior=Prior(run_dof=6.0), trend=FREE)
        half = scipy.stats.t.ppf(0.975, 6) * 0.08 * math.sqrt(1.5)
        assert ours.mean == pytest.approx(-0.2, abs=1e-9)
        assert ours.quantile(0.025) == pytest.approx(-0.2 - half, abs=1e-6)


class TestMixedModel:
    @pytest.mark.parametrize("seed", range(4))
    def test_over_days(self, seed: int) -> None:
        """Eight days, three with one group: difference and standard error to 0.005 s."""
        rng = np.random.default_rng(seed)
        rows = []
        for day in range(8):
            level, slope = rng.normal(7.5, 0.2), rng.uniform(-0.05, 0.02)
            order = "".join(rng.permutation(list("ABABAB"))) if day < 5 else "AAABBBB"[day - 5 :: 2]
            for place, group in enumerate(order):
                effect = -0.1 if group == "B" else 0.0
                seen = level + slope * place + effect + rng.normal(0.0, 0.06)
                rows.append((day, float(place), float(group == "B"), seen))
        table = pd.DataFrame(rows, columns=["day", "order", "after", "middle"])
        table["place"] = table.order - table.groupby("day").order.transform("mean")
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            theirs = smf.mixedlm("middle ~ after + C(day):place", table, groups="day").fit(
                reml=True
            )
        ours = change_of([Level(*row, 0.0) for row in rows], prior=None, trend=FREE)
        assert ours.mean == pytest.approx(theirs.params["after"], abs=0.005)
        assert ours.u == pytest.approx(theirs.bse["after"], abs=0.005)
        # A trend that is all but free says the same.
        wide = change_of([Level(*row, 0.0) for row in rows], prior=None, trend=Trend(bend=0.0))
        assert wide.mean == pytest.approx(theirs.params["after"], abs=0.005)
        assert wide.u == pytest.approx(theirs.bse["after"], abs=0.005)


class TestPosterior:
    """Against the same model in full matrices, the spreads summed by scipy's quadrature."""

    RUNS = (
        *levels("ABA", [7.50, 7.38, 7.47], variance=0.003),
        *levels("BBAB", [7.21, 7.25, 7.33, 7.19], day=1, variance=0.001),
        *levels("AA", [7.80, 7.71], day=2, variance=0.002),
    )
    RECORD = (*levels("AAAA", [7.4, 7.44, 7.37, 7.41], day=5, variance=0.002),)

    @staticmethod
    def covariance(runs: tuple[Level, ...], run: float, day: float, slope: float) -> np.ndarray:
        days = np.array([level.day for level in runs])
        same = days[:, None] == days
        order = np.array([level.order for level in runs])
        place = order - np.array([order[days == each].mean() for each in days])
        own = np.diag([run**2 + level.variance for level in runs])
        covariance: np.ndarray = own + same * (day**2 + slope**2 * place[:, None] * place)
        return covariance

    def restricted(
        self, runs: tuple[Level, ...], design: np.ndarray, run: float, day: float
    ) -> tuple[float, np.ndarray, np.ndarray]:
        inverse = np.linalg.inv(self.covariance(runs, run, day, 0.1))
        middles = np.array([level.middle for level in runs])
        information = design.T @ inverse @ design
        found = np.linalg.solve(information, design.T @ inverse @ middles)
        rest = middles - design @ found
        log = 0.5 * (
            np.linalg.slogdet(inverse)[1]
            - np.linalg.slogdet(information)[1]
            - rest @ inverse @ rest
        )
        return log, found, np.linalg.inv(information)

    def test_two_spreads_and_a_record(self) -> None:
        after = np.array([level.after for level in self.RUNS])
        design = np.column_stack((np.ones(len(after)), after))
        ones = np.ones((len(self.RECORD), 1))

        def density(log_day: float, log_run: float) -> tuple[float, float, float]:
            run, day = math.exp(log_run), math.exp(log_day)
            log, found, inverse = self.restricted(self.RUNS, design, run, day)
            log += self.restricted(self.RECORD, ones, run, day)[0]
            for spread, scale in ((run, 0.08), (day, 0.2)):
                log += 4.0 * math.log(scale / spread) - 2.0 * (scale / spread) ** 2
            weight = math.exp(log - 30.0)
            return weight, weight * found[1], weight * (found[1] ** 2 + inverse[1, 1])

        grid_run = np.linspace(math.log(0.01), math.log(1.0), 35)
        grid_day = np.linspace(math.log(0.02), math.log(5.0), 35)
        table = np.array([[density(day, run) for day in grid_day] for run in grid_run])
        total, first, second = (
            scipy.integrate.simpson(scipy.integrate.simpson(table[..., part], grid_day), grid_run)
            for part in range(3)
        )
        ours = change_of(self.RUNS, self.RECORD, prior=Prior(), trend=Trend(0.1, 0.0))
        assert ours.mean == pytest.approx(first / total, abs=1e-4)
        assert ours.u == pytest.approx(math.sqrt(second / total - (first / total) ** 2), abs=2e-4)

    def test_a_bend_is_a_slope_that_changes(self) -> None:
        """A-B-A: a change of slope b at the middle run moves it by b / 2 against the others."""
        runs = levels("ABA", [7.5, 7.4, 7.5])
        scatters = np.array([0.05])
        with_bend, without = (
            change_variances(runs, scatters, 0.2, trend=trend, laps_open=True)[0]
            for trend in (Trend(math.inf, 0.03), FREE)
        )
        assert without == pytest.approx(1.5 * 0.05**2, rel=1e-9)
        assert with_bend == pytest.approx(1.5 * 0.05**2 + (0.03 / 2) ** 2, rel=1e-9)

    def test_what_laps_leave_open_widens(self) -> None:
        wide, narrow = (
            change_of(levels("ABAB", [7.5, 7.4, 7.5, 7.4], variance=v), prior=Prior(), trend=FREE).u
            for v in (0.01, 0.0)
        )
        assert wide > narrow + 0.01

    def test_days_that_are_apart_are_never_equal(self) -> None:
        """Two days of a group each: about sqrt 2 spreads of a day, t with four degrees."""
        runs = [*levels("AAA", [7.5] * 3), *levels("BBB", [7.4] * 3, day=1)]
        ours = change_of(runs, prior=Prior(), trend=Trend())
        half = scipy.stats.t.ppf(0.975, 4) * 0.2 * math.sqrt(2.0)
        assert ours.quantile(0.975) - ours.mean == pytest.approx(half, rel=0.08)
        assert ours.quantile(0.975) - ours.mean > half

    def test_a_record_steadies(self) -> None:
        """Ten steady days, whose levels are far apart, tell that runs scatter little."""
        rng = np.random.default_rng(1)
        record = [
            level
            for day in range(1, 11)
            for level in levels("AAAAA", list(7.5 + day + rng.normal(0, 0.02, 5)), day=day)
        ]
        runs = levels("ABA", [7.5, 7.4, 7.5])
        alone = change_of(runs, prior=Prior(), trend=Trend())
        steady = change_of(runs, record, prior=Prior(), trend=Trend())
        assert steady.run_scatter_quantiles(np.array([0.5]))[0] == pytest.approx(0.03, abs=0.012)
        assert steady.u < 0.7 * alone.u

    @given(st.floats(0.001, 0.999))
    @settings(max_examples=25)
    def test_quantiles_are_those_of_the_mixture(self, p: float) -> None:
        ours = change_of(levels("ABAB", [7.5, 7.4, 7.45, 7.4]), prior=None, trend=None)
        place = ours.quantile(p)
        below = scipy.stats.norm.cdf(place, ours.changes, np.sqrt(ours.variances))
        assert ours.weights @ below == pytest.approx(p, abs=1e-10)

    def test_run_scatter_quantiles_rise(self) -> None:
        ours = change_of(levels("ABA", [7.5, 7.4, 7.5]), prior=Prior(), trend=FREE)
        low, half, high = ours.run_scatter_quantiles(np.array([0.1, 0.5, 0.9]))
        expected = 0.08 * np.sqrt(4 / scipy.stats.chi2.ppf([0.9, 0.5, 0.1], 4))
        assert [low, half, high] == pytest.approx(expected, rel=0.015)

    @given(st.permutations(range(9)))
    @settings(max_examples=10)
    def test_whatever_order_they_come_in(self, places: list[int]) -> None:
        ours = change_of([self.RUNS[p] for p in places], prior=Prior(), trend=Trend())
        again = change_of(self.RUNS, prior=Prior(), trend=Trend())
        assert ours.mean == pytest.approx(again.mean, abs=1e-9)


class TestWhatIsRefused:
    def test_one_group(self) -> None:
        for groups in ("AAA", "BBB"):
            with pytest.raises(TooThin):
                change_of(levels(groups, [7.5] * 3), prior=Prior(), trend=Trend())

    def test_nothing_left_to_tell_scatter_from(self) -> None:
        with pytest.raises(TooThin):
            change_of(levels("AB", [7.5, 7.4]), prior=None, trend=None)
        with pytest.raises(TooThin):
            change_of(levels("ABA", [7.5, 7.4, 7.5]), prior=None, trend=FREE)

    def test_a_free_trend_that_may_be_all(self) -> None:
        with pytest.raises(TooThin, match="order does not tell the change from the trend"):
            change_of(levels("AB", [7.5, 7.4]), prior=Prior(), trend=FREE)

    def test_no_scatter_at_all(self) -> None:
        with pytest.raises(TooThin):
            change_of(levels("AABB", [7.5, 7.5, 7.4, 7.4]), prior=None, trend=None)

    @pytest.mark.parametrize("name", ["run_scatter", "run_dof", "day_spread", "day_dof"])
    def test_a_prior_of_nothing(self, name: str) -> None:
        with pytest.raises(BadInput) as caught:
            Prior(**{name: 0.0})
        assert caught.value.quantity == f"prior {name}"

    def test_a_trend_of_nothing(self) -> None:
        with pytest.raises(BadInput):
            Trend(slope=0.0)
        with pytest.raises(BadInput):
            Trend(bend=-0.1)


def test_degrees_left() -> None:
    """Prior's four; five runs less level, slope and change; a record's day less level and slope."""
    runs, record = levels("ABABA", [7.5] * 5), levels("AAAA", [7.5] * 4, day=3)
    assert degrees_left(runs, record, prior=Prior(), trend=Trend()) == 4 + 2 + 2
    assert degrees_left(runs, [], prior=None, trend=None) == 3
    assert degrees_left(levels("ABA", [7.5] * 3), [], prior=None, trend=Trend()) == 0
