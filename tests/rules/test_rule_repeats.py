"""The mean of weighings: scatter pooled with a prior, and what another weighing does to it."""

import itertools
import math
import statistics

import pytest
from hypothesis import given
from hypothesis import strategies as st

from events.rules.decision import Decision, DecisionRule, Outcome, RuleLimits, decide
from events.rules.repeats import PRIOR_DOF, Read, Scatter, mean_of, pooled, prior

U = 0.2 / math.sqrt(3)  # of a total on four pads of 0.2
LEAST = RuleLimits(lower=320.0)
ORDER = [Outcome.MEETS, Outcome.TOO_CLOSE, Outcome.FAILS]


def read(
    total: float,
    before: Scatter | None = None,
    *,
    u: float = U,
    u_common: float = 0.0,
    scales: str = "pads",
) -> Read:
    return Read(total, u, u_common, scales, before or prior(u))


def verdict(reads: list[Read], limits: RuleLimits = LEAST) -> Decision:
    return decide(mean_of(reads).estimate, limits, DecisionRule.GUARDED)


class TestPooling:
    groups = ([1.0, 1.2, 1.1], [5.0], [7.0, 7.4])

    def test_the_prior_is_a_group_of_its_own(self) -> None:
        """(nu_0 s_0^2 + sum nu_i s_i^2) / (nu_0 + sum nu_i)."""
        found = pooled(Scatter(0.3, 4), self.groups)
        wanted = (4 * 0.09 + 2 * 0.01 + 1 * 0.08) / 7
        assert (found.s, found.dof) == pytest.approx((math.sqrt(wanted), 7))

    def test_without_a_prior_it_is_that_of_the_gum(self) -> None:
        """JCGM 100:2008, 4.2.4 and H.3.6: sum nu_i s_i^2 / sum nu_i, by hand."""
        s, dof = math.sqrt((2 * 0.01 + 1 * 0.08) / 3), 3
        found = pooled(Scatter(0.0, 1e-12), self.groups)
        assert (found.s, found.dof) == pytest.approx((s, dof))

    def test_equal_groups_have_the_mean_variance(self) -> None:
        """NIST/SEMATECH e-Handbook, 2.5.3.1.1 (from memory): K days of J repeats, s the root mean
        square of the days' s, with K (J - 1) degrees of freedom."""
        days = [[10.0, 10.3, 10.1], [20.2, 20.0, 20.1], [30.0, 30.0, 30.6]]
        found = pooled(Scatter(0.0, 1e-12), days)
        wanted = math.sqrt(statistics.fmean(statistics.variance(day) for day in days))
        assert (found.s, found.dof) == pytest.approx((wanted, 6))

    def test_nothing_more_is_the_prior(self) -> None:
        s, dof = pooled(prior(0.3), [])
        assert s == pytest.approx(0.3)
        assert dof == PRIOR_DOF


class TestMean:
    def test_one_weighing_has_the_uncertainty_of_its_divisions(self) -> None:
        found = mean_of([read(100.0)]).estimate
        assert found.u == pytest.approx(U)
        assert (found.value, found.dof) == (100.0, math.inf)

    def test_two_that_agree_have_it_over_root_two(self) -> None:
        found = mean_of([read(100.0), read(100.0)]).estimate
        assert found.u == pytest.approx(U / math.sqrt(2))
        assert found.dof == math.inf

    def test_the_first_pair_does_not_stand_on_one_degree_of_freedom(self) -> None:
        found = mean_of([read(320.2), read(320.4)]).estimate
        s = math.sqrt((PRIOR_DOF * U**2 + 0.02) / (PRIOR_DOF + 1))
        assert (found.value, found.u) == pytest.approx((320.3, s / math.sqrt(2)))
        assert found.dof == pytest.approx(PRIOR_DOF + 1)

    def test_what_the_day_has_shown_counts_for_a_single_weighing_too(self) -> None:
        found = mean_of([read(320.4, Scatter(0.5, 9))]).estimate
        assert (found.u, found.dof) == pytest.approx((0.5, 9))

    def test_weighings_that_disagree_stand_on_their_own(self) -> None:
        """2 apart where thirty repeats scattered 0.1: they do not scatter as those did."""
        found = mean_of([read(319.9, Scatter(0.1, 34)), read(321.9, Scatter(0.1, 34))]).estimate
        assert (found.value, found.u, found.dof) == pytest.approx((320.9, 1.0, 1.0))

    def test_a_correction_is_common_to_all(self) -> None:
        found = mean_of([read(100.0, u_common=0.3)] * 4).estimate
        assert found.u == pytest.approx(math.hypot(U / 2, 0.3))

    def test_two_sets_of_scales_by_inverse_variance(self) -> None:
        """u^-2 = sum u_i^-2; the finer scales count for more (textbook)."""
        found = mean_of([read(100.0, u=0.1), read(100.3, u=0.2, scales="platform")])
        assert found.weights == pytest.approx((0.8, 0.2))
        assert found.estimate.value == pytest.approx(100.06)
        assert found.estimate.u == pytest.approx((0.1**-2 + 0.2**-2) ** -0.5)

    def test_two_sets_that_disagree_are_not_surer_for_it(self) -> None:
        found = mean_of([read(100.0, u=0.1), read(103.0, u=0.1, scales="platform")]).estimate
        assert (found.value, found.u, found.dof) == pytest.approx((101.5, 1.5, 1.0))


befores = st.builds(Scatter, st.floats(0.01, 1.0), st.integers(PRIOR_DOF, 60).map(float))


class TestAnotherThatReadsTheSame:
    """It never takes a verdict back: on or inside the limits never a worse one, outside never a
    better one."""

    @given(
        st.floats(-1, 1),
        befores,
        befores,
        st.floats(0.02, 0.5),
        st.sampled_from(["pads", "other"]),
        st.none() | st.floats(0.5, 4),
    )
    def test_for_one(
        self,
        over: float,
        before: Scatter,
        later: Scatter,
        u: float,
        scales: str,
        width: float | None,
    ) -> None:
        """Whatever other cars did to the scatter between, with one limit and with two."""
        limits = RuleLimits(320.0, None if width is None else 320.0 + width)
        first = read(320.0 + over, before)
        second = read(320.0 + over, later, u=U if scales == "pads" else u, scales=scales)
        one, two = verdict([first], limits), verdict([first, second], limits)
        if one.margin >= 0:
            assert ORDER.index(two.outcome) <= ORDER.index(one.outcome)
        elif width is None:
            assert ORDER.index(two.outcome) >= ORDER.index(one.outcome)

    @given(st.lists(st.integers(0, 10), min_size=1, max_size=5), befores)
    def test_for_several(self, steps: list[int], before: Scatter) -> None:
        """A repeat of the mean of several, which reads what it read."""
        reads = [read(320.0 + 0.2 * step, before) for step in steps]
        same = read(mean_of(reads).estimate.value, before)
        assert ORDER.index(verdict([*reads, same]).outcome) <= ORDER.index(verdict(reads).outcome)

    @given(st.floats(0, 1), befores)
    def test_and_the_chance_only_grows(self, over: float, before: Scatter) -> None:
        chances = [verdict([read(320.0 + over, before)] * n).probability for n in (1, 2, 3, 4)]
        assert all(more >= less - 1e-12 for less, more in itertools.pairwise(chances))
