"""The uncertainty calculus against JCGM 100's own example, GTC, uncertainties and scipy."""

import math
import statistics
from collections.abc import Callable

import GTC
import pytest
import scipy.stats
from hypothesis import given
from hypothesis import strategies as st
from uncertainties import covariance_matrix, ufloat

from clubsetup.quantities.uncertainty import (
    Contribution,
    Estimate,
    UncertaintyError,
    combine,
    coverage_factor,
    expanded,
    from_step,
    normal,
    probability_below,
    propagate,
    quantile,
    rectangular,
    type_a,
)

positive = st.floats(1e-3, 1e3)


def h1_contributions() -> list[Contribution]:
    """JCGM 100:2008, H.1 (end gauge), in nanometres and degrees C; inputs from memory."""
    length, alpha, theta = 50.000623e6, 11.5e-6, -0.1
    return [
        Contribution(1, normal(75, 3), 18),
        Contribution(1, 5.8, 24),
        Contribution(1, 3.9, 5),
        Contribution(1, 6.7, 8),
        Contribution(-length * theta, rectangular(1e-6), 50),
        Contribution(-length * alpha, rectangular(0.05), 2),
        # First order only: the two that H.1 shows to vanish because their partners are zero.
        Contribution(0, rectangular(2e-6)),
        Contribution(0, math.hypot(0.2, 0.5 / math.sqrt(2))),
    ]


class TestEndGauge:
    """JCGM 100:2008 example H.1."""

    def test_published_result(self) -> None:
        result = combine(50.000623e6 + 215, h1_contributions())
        assert result.value / 1e6 == pytest.approx(50.000838, abs=5e-7)
        assert round(result.u) == 32
        assert math.floor(result.dof) == 16
        assert round(coverage_factor(result.dof, 0.99), 2) == 2.92
        # The published 93 nm is 2.92 times the rounded 32 nm; unrounded it is 92.5.
        assert expanded(result, 0.99) == pytest.approx(92.48, abs=0.01)
        assert round(coverage_factor(result.dof, 0.99) * round(result.u)) == 93

    def test_against_gtc(self) -> None:
        """GTC: 31.66387911 nm with 16.75185574 degrees of freedom, and computed here again."""
        ureal, uniform = GTC.ureal, GTC.type_b.uniform
        length = ureal(50.000623e6, 25, 18)
        mean, random, systematic = ureal(215, 5.8, 24), ureal(0, 3.9, 5), ureal(0, 6.7, 8)
        alpha, d_alpha = ureal(11.5e-6, uniform(2e-6)), ureal(0, uniform(1e-6), 50)
        theta = ureal(-0.1, 0.2) + ureal(0, GTC.type_b.arcsine(0.5))
        d_theta = ureal(0, uniform(0.05), 2)
        gauge = length + mean + random + systematic - length * (d_alpha * theta + alpha * d_theta)
        ours = combine(gauge.x, h1_contributions())
        assert ours.u == pytest.approx(31.66387911, abs=1e-8)
        assert ours.dof == pytest.approx(16.75185574, abs=1e-8)
        assert ours.u == pytest.approx(gauge.u, rel=1e-12)
        assert ours.dof == pytest.approx(gauge.df, rel=1e-12)


class TestTypeA:
    @given(st.lists(st.floats(-1e4, 1e4), min_size=2, max_size=30))
    def test_against_the_standard_library(self, repeats: list[float]) -> None:
        result = type_a(repeats)
        assert result.value == pytest.approx(statistics.fmean(repeats), abs=1e-9)
        wanted = statistics.stdev(repeats) / math.sqrt(len(repeats))
        assert result.u == pytest.approx(wanted, rel=1e-9, abs=1e-9)
        assert result.dof == len(repeats) - 1

    def test_against_gtc(self) -> None:
        repeats = [2.1, 2.0, 2.2, 2.1, 1.9]
        theirs = GTC.ta.estimate(repeats)
        ours = type_a(repeats)
        assert (ours.value, ours.u, ours.dof) == pytest.approx((theirs.x, theirs.u, theirs.df))

    @pytest.mark.parametrize("repeats", [[], [3.0], [1.0, math.nan], [1.0, math.inf]])
    def test_refuses_what_shows_no_scatter(self, repeats: list[float]) -> None:
        with pytest.raises(UncertaintyError) as caught:
            type_a(repeats)
        assert caught.value.quantity == "repeats"

    def test_a_digital_angle_gauge_repeats_within_a_tenth(self) -> None:
        """Common practice, no source: repeats of a digital gauge stay within about 0.1 degree.

        Read as a span of +-0.1 degree, one reading is then good to 0.058 degree, and a wheel read
        five times to 0.1 degree or better at 95 %.
        """
        assert from_step(0.2) == pytest.approx(0.0577, abs=1e-4)
        assert expanded(type_a([3.1, 3.2, 3.1, 3.0, 3.1])) < 0.1


class TestTypeB:
    def test_reference_value(self) -> None:
        """GTC.type_b.uniform(0.25)."""
        assert rectangular(0.25) == pytest.approx(0.144337567297406, abs=1e-15)

    @given(positive)
    def test_against_gtc(self, a: float) -> None:
        assert rectangular(a) == pytest.approx(GTC.type_b.uniform(a))

    @given(positive)
    def test_against_the_distributions_themselves(self, a: float) -> None:
        assert rectangular(a) == pytest.approx(scipy.stats.uniform(-a, 2 * a).std())

    def test_a_sixteenth_of_an_inch(self) -> None:
        assert from_step(25.4 / 16) == pytest.approx(25.4 / 16 / math.sqrt(12))

    def test_certificate(self) -> None:
        assert normal(0.1) == 0.05
        assert normal(0.3, 3) == pytest.approx(0.1)

    @pytest.mark.parametrize("evaluate", [rectangular, normal, from_step])
    @pytest.mark.parametrize("bad", [-1.0, math.nan, math.inf])
    def test_refuses_a_width_that_is_none(
        self, evaluate: Callable[[float], float], bad: float
    ) -> None:
        with pytest.raises(UncertaintyError):
            evaluate(bad)

    @pytest.mark.parametrize("k", [0.0, -2.0, math.nan, math.inf])
    def test_refuses_a_coverage_factor_that_is_none(self, k: float) -> None:
        with pytest.raises(UncertaintyError, match="coverage factor"):
            normal(1.0, k)


class TestCombine:
    @given(st.lists(st.tuples(st.floats(-10, 10), positive), min_size=1, max_size=6))
    def test_against_uncertainties(self, parts: list[tuple[float, float]]) -> None:
        total = sum(c * ufloat(0, u) for c, u in parts)
        assert combine(0, [Contribution(c, u) for c, u in parts]).u == pytest.approx(
            total.std_dev, rel=1e-9, abs=1e-12
        )

    @given(st.lists(st.tuples(positive, st.integers(1, 50)), min_size=1, max_size=6))
    def test_effective_dof_lies_between_the_least_and_the_sum(
        self, parts: list[tuple[float, int]]
    ) -> None:
        """JCGM 100:2008, G.4.1 note: nu_eff <= sum nu_i."""
        result = combine(0, [Contribution(1, u, nu) for u, nu in parts])
        assert min(nu for _, nu in parts) <= result.dof * (1 + 1e-9)
        assert result.dof <= sum(nu for _, nu in parts) * (1 + 1e-9)

    def test_nothing_uncertain(self) -> None:
        assert combine(5.0, []) == Estimate(5.0)
        assert combine(5.0, [Contribution(2, 0.0, 3)]) == Estimate(5.0)

    def test_tiny_uncertainties_keep_their_dof(self) -> None:
        assert combine(0, [Contribution(1, 1e-120, 4)]).dof == pytest.approx(4)

    @pytest.mark.parametrize(
        ("bad", "quantity"),
        [
            (Contribution(math.nan, 1), "sensitivity coefficient"),
            (Contribution(1, -1), "standard uncertainty"),
            (Contribution(1, 1, 0), "degrees of freedom"),
            (Contribution(1, 1, math.nan), "degrees of freedom"),
        ],
    )
    def test_names_what_is_wrong(self, bad: Contribution, quantity: str) -> None:
        with pytest.raises(UncertaintyError) as caught:
            combine(0, [bad])
        assert caught.value.quantity == quantity


class TestPropagate:
    def test_against_uncertainties_with_a_common_part(self) -> None:
        common = ufloat(0, 0.3)
        a, b = ufloat(80, 0.1) + common, ufloat(85, 0.2) + common
        covariance = covariance_matrix([a, b])
        assert propagate([1, 1], covariance) == pytest.approx((a + b).std_dev)
        assert propagate([1, -1], covariance) == pytest.approx((a - b).std_dev)

    def test_a_fully_common_error_cancels(self) -> None:
        assert propagate([1, -1], [[0.09, 0.09], [0.09, 0.09]]) == 0

    @given(st.lists(st.tuples(st.floats(-5, 5), positive), min_size=1, max_size=5))
    def test_without_correlation_it_is_combine(self, parts: list[tuple[float, float]]) -> None:
        n = len(parts)
        diagonal = [[parts[i][1] ** 2 if i == j else 0.0 for j in range(n)] for i in range(n)]
        ours = propagate([c for c, _ in parts], diagonal)
        assert ours == pytest.approx(combine(0, [Contribution(c, u) for c, u in parts]).u)

    @pytest.mark.parametrize(
        "covariance",
        [[[1.0]], [[1, 0.5], [0.2, 1]], [[1, 2], [2, 1]], [[math.nan, 0], [0, 1]]],
    )
    def test_refuses_what_is_no_covariance(self, covariance: list[list[float]]) -> None:
        with pytest.raises(UncertaintyError, match="covariance"):
            propagate([1, -1], covariance)

    def test_refuses_a_sensitivity_that_is_none(self) -> None:
        with pytest.raises(UncertaintyError, match="covariance"):
            propagate([math.nan, 1], [[1, 0], [0, 1]])


class TestCoverage:
    @pytest.mark.parametrize(
        ("dof", "p", "k"),
        [(1, 0.95, 12.71), (5, 0.95, 2.57), (10, 0.9545, 2.28), (16, 0.99, 2.92), (50, 0.9, 1.68)],
    )
    def test_table_g2(self, dof: int, p: float, k: float) -> None:
        """JCGM 100:2008, table G.2; entries from memory, each also what scipy gives."""
        assert coverage_factor(dof, p) == pytest.approx(k, abs=0.005)
        assert coverage_factor(dof, p) == pytest.approx(scipy.stats.t(dof).ppf(0.5 + p / 2))

    def test_infinite_is_normal(self) -> None:
        assert coverage_factor() == pytest.approx(1.959963984540054)

    def test_rounds_down_to_the_careful_side(self) -> None:
        assert coverage_factor(16.75, 0.99) == coverage_factor(16, 0.99)
        assert coverage_factor(0.4) == coverage_factor(1)

    @given(st.integers(1, 200), st.floats(0.5, 0.999))
    def test_against_gtc(self, dof: int, p: float) -> None:
        assert coverage_factor(dof, p) == pytest.approx(GTC.rp.k_factor(dof, 100 * p), rel=1e-6)

    @pytest.mark.parametrize("p", [0.0, 1.0, -0.1, 95, math.nan])
    def test_refuses_a_probability_that_is_none(self, p: float) -> None:
        with pytest.raises(UncertaintyError, match="coverage probability"):
            coverage_factor(10, p)


class TestProbabilityBelow:
    @given(st.floats(-50, 50), st.floats(-50, 50), positive)
    def test_against_scipy(self, limit: float, value: float, u: float) -> None:
        ours = probability_below(limit, Estimate(value, u))
        assert ours == pytest.approx(scipy.stats.norm(value, u).cdf(limit), abs=1e-12)

    def test_few_degrees_of_freedom_spread_it(self) -> None:
        sure, unsure = Estimate(0, 1), Estimate(0, 1, 3)
        assert probability_below(2, unsure) == pytest.approx(scipy.stats.t(3).cdf(2))
        assert probability_below(2, unsure) < probability_below(2, sure)

    def test_an_exact_value_is_on_one_side(self) -> None:
        assert probability_below(1, Estimate(0)) == 1
        assert probability_below(-1, Estimate(0)) == 0
        assert probability_below(0, Estimate(0)) == 0.5


@pytest.mark.parametrize(
    ("arguments", "quantity"),
    [
        ((math.nan,), "value"),
        ((1.0, -0.1), "standard uncertainty"),
        ((1.0, math.inf), "standard uncertainty"),
        ((1.0, 0.1, 0.0), "degrees of freedom"),
    ],
)
def test_an_estimate_is_always_a_number(arguments: tuple[float, ...], quantity: str) -> None:
    with pytest.raises(UncertaintyError) as caught:
        Estimate(*arguments)
    assert caught.value.quantity == quantity


@pytest.mark.parametrize(
    ("p", "dof", "wanted"),
    # JCGM 100:2008, table G.2, two-sided 95 % (from memory), and the normal table.
    [(0.975, 1, 12.71), (0.975, 5, 2.57), (0.975, math.inf, 1.960), (0.97725, math.inf, 2.0)],
)
def test_a_quantile(p: float, dof: float, wanted: float) -> None:
    assert quantile(p, dof) == pytest.approx(wanted, abs=0.005)


@pytest.mark.parametrize("p", [0.0, 1.0, -1.0, math.nan])
def test_a_quantile_of_what_is_no_share(p: float) -> None:
    with pytest.raises(UncertaintyError) as caught:
        quantile(p)
    assert caught.value.quantity == "probability"
