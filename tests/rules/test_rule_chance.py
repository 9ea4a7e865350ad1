"""The guarded verdict and the chance shown beside it, for every value, uncertainty and limit."""

import math

import pytest
import scipy.stats
from hypothesis import given
from hypothesis import strategies as st

from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.uncertainty import Estimate, quantile
from clubsetup.quantities.units import Units
from events.rules.decision import (
    SURE,
    Decision,
    DecisionRule,
    Outcome,
    RuleLimits,
    decide,
    probability_of_meeting,
)
from events.rules.rule_text import chance, decision_sentence, format_apart

GUARDED = DecisionRule.GUARDED
POUND = 0.45359237
values = st.floats(-50, 50)
spreads = st.floats(0.01, 5)
freedoms = st.integers(1, 60).map(float) | st.just(math.inf)
# Best first.
ORDER = [Outcome.MEETS, Outcome.TOO_CLOSE, Outcome.FAILS]
limits_of_any_kind = st.one_of(
    values.map(lambda low: RuleLimits(lower=low)),
    values.map(lambda high: RuleLimits(upper=high)),
    st.tuples(values, st.floats(0, 20)).map(lambda two: RuleLimits(two[0], sum(two))),
)
judged = st.tuples(values, spreads, freedoms, limits_of_any_kind).map(
    lambda drawn: decide(Estimate(*drawn[:3]), drawn[3], GUARDED)
)


class TestTheChanceDecides:
    """JCGM 106:2012, 7 and 8: the guarded verdict is read from the chance and nothing else."""

    @given(judged, judged)
    def test_a_larger_chance_never_gets_the_worse_verdict(
        self, one: Decision, other: Decision
    ) -> None:
        """Whatever the value, its uncertainty, its degrees of freedom and the limits are."""
        less, more = sorted([one, other], key=lambda decision: decision.probability)
        assert ORDER.index(more.outcome) <= ORDER.index(less.outcome)

    @given(values, values, spreads, freedoms, values, st.none() | st.floats(0, 20))
    def test_nor_against_the_same_limits(
        self, a: float, b: float, u: float, dof: float, lower: float, width: float | None
    ) -> None:
        """With one limit and with two."""
        limits = RuleLimits(lower, None if width is None else lower + width)
        one, other = (decide(Estimate(value, u, dof), limits, GUARDED) for value in (a, b))
        less, more = sorted([one, other], key=lambda decision: decision.probability)
        assert ORDER.index(more.outcome) <= ORDER.index(less.outcome)

    @given(judged)
    def test_what_is_shown_never_contradicts_the_verdict(self, decision: Decision) -> None:
        shown = chance(decision.probability)
        number = float(shown.rstrip("%").split()[-1])
        meets, fails = number >= 97.7, number <= 2.3
        assert (decision.outcome is Outcome.MEETS) == meets
        assert (decision.outcome is Outcome.FAILS) == fails

    @pytest.mark.parametrize(
        ("probability", "shown"),
        [
            (0.977, "97.7%"),
            (math.nextafter(0.977, 0), "97.6%"),
            (0.97699, "97.6%"),
            (0.9775, "97.7%"),
            (0.023, "2.3%"),
            (math.nextafter(0.023, 1), "2.4%"),
            (0.0225, "2.3%"),
            (0.5, "50.0%"),
            (0.9995, "over 99.9%"),
            (0.0005, "under 0.1%"),
        ],
    )
    def test_a_chance_is_rounded_towards_one_half(self, probability: float, shown: str) -> None:
        assert chance(probability) == shown

    def test_two_verdicts_that_went_the_wrong_way_round(self) -> None:
        """One weighing 0.2 over with u = 0.2/sqrt 3, and the mean of two, 0.3 over, whose u of
        0.1 stands on one degree of freedom: 95.8 % and 89.8 %."""
        limits = RuleLimits(lower=320)
        sure = decide(Estimate(320.2, 0.2 / math.sqrt(3)), limits, GUARDED)
        less = decide(Estimate(320.3, 0.1, 1), limits, GUARDED)
        assert sure.probability == pytest.approx(0.958, abs=5e-4)
        assert less.probability == pytest.approx(0.898, abs=5e-4)
        assert (sure.outcome, less.outcome) == (Outcome.TOO_CLOSE, Outcome.TOO_CLOSE)

    @given(judged)
    def test_the_guard_is_where_it_would_be_sure(self, decision: Decision) -> None:
        if decision.outcome is Outcome.TOO_CLOSE:
            assert abs(decision.margin) < decision.guard
        elif math.isfinite(decision.guard):
            assert abs(decision.margin) >= decision.guard * (1 - 1e-9)

    @given(values, spreads, freedoms, st.none() | st.floats(0, 20))
    def test_a_figure_at_its_guard_has_just_that_chance(
        self, lower: float, u: float, dof: float, width: float | None
    ) -> None:
        limits = RuleLimits(lower, None if width is None else lower + width)
        found = decide(Estimate(lower, u, dof), limits, GUARDED)
        if math.isfinite(found.guard):
            there = Estimate(lower + found.guard, u, dof)
            assert probability_of_meeting(there, limits) == pytest.approx(SURE, abs=1e-9)
        else:
            assert width is not None, "with one limit there is always a guard"
            middle = Estimate(lower + width / 2, u, dof)
            assert probability_of_meeting(middle, limits) < SURE

    @given(st.floats(0.501, 0.999), freedoms)
    def test_the_quantile_against_scipy(self, p: float, dof: float) -> None:
        theirs = scipy.stats.norm.ppf(p) if math.isinf(dof) else scipy.stats.t(dof).ppf(p)
        assert quantile(p, dof) == pytest.approx(theirs, rel=1e-9)


class TestWhatIsSaid:
    pounds = Units.imperial()

    def said(self, estimate: Estimate, limits: RuleLimits, kind: Kind = Kind.PERCENT) -> str:
        return decision_sentence(decide(estimate, limits, GUARDED), kind, self.pounds)

    def test_closer_than_what_it_must_clear_it_by_is_true_as_written(self) -> None:
        said = self.said(
            Estimate(320.2 * POUND, 0.2 / math.sqrt(3) * POUND),
            RuleLimits(lower=320 * POUND),
            Kind.MASS,
        )
        assert said == (
            "320.2 lb is 0.2 lb over the least allowed, 320 lb, closer than the 0.23 lb it must "
            "clear it by; take it again. Good to ±0.23 lb; chance that it meets: 95.8%."
        )

    @given(st.floats(0, 2), st.floats(1e-5, 2), st.sampled_from([Kind.MASS, Kind.LENGTH]))
    def test_the_larger_of_two_gaps_reads_so(self, less: float, more: float, kind: Kind) -> None:
        near, far = format_apart(less, less + more, kind, Units.metric())
        assert float(near.split()[0]) < float(far.split()[0])

    def test_limits_nearer_to_each_other_than_the_tool_tells(self) -> None:
        said = self.said(Estimate(54.55, 0.2), RuleLimits(54.3, 54.8))
        assert "cannot tell limits so near each other" in said
        assert "closer than" not in said
