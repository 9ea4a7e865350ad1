"""Conformity against JCGM 106's examples and ILAC-G8's two bounds, and by simulation."""

import math

import numpy as np
import pytest
import scipy.stats
from hypothesis import given
from hypothesis import strategies as st

from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.uncertainty import Estimate, quantile
from clubsetup.quantities.units import Units
from events.rules.decision import (
    SURE,
    DecisionRule,
    LimitError,
    Limits,
    Outcome,
    decide,
    probability_of_meeting,
    worst,
)
from events.rules.speech import chance, say_apart, say_decision

READING, GUARDED = DecisionRule.READING, DecisionRule.GUARDED
POUND = 0.45359237
values = st.floats(-50, 50)
spreads = st.floats(0.01, 5)
freedoms = st.integers(1, 60).map(float) | st.just(math.inf)
# Best first.
ORDER = [Outcome.MEETS, Outcome.TOO_CLOSE, Outcome.FAILS]


class TestProbability:
    @pytest.mark.parametrize(
        ("value", "u", "limits", "wanted"),
        [
            (-5.47, 0.05, Limits(upper=-5.40), 0.919243),
            (509.7, 8.6, Limits(lower=490), 0.989010),
            (13.6, 1.8, Limits(12.5, 16.3), 0.662630),
        ],
    )
    def test_jcgm_106_examples(self, value, u, limits, wanted):
        """JCGM 106:2012, worked examples; their inputs from memory."""
        assert probability_of_meeting(Estimate(value, u), limits) == pytest.approx(wanted, abs=5e-7)

    @given(values, spreads, values, st.floats(0, 20))
    def test_against_scipy(self, value, u, lower, width):
        theirs = scipy.stats.norm(value, u)
        for limits, wanted in (
            (Limits(lower=lower), theirs.sf(lower)),
            (Limits(upper=lower), theirs.cdf(lower)),
            (Limits(lower, lower + width), theirs.cdf(lower + width) - theirs.cdf(lower)),
        ):
            ours = probability_of_meeting(Estimate(value, u), limits)
            assert ours == pytest.approx(wanted, abs=1e-12)

    def test_few_repeats_make_it_less_sure(self):
        limits = Limits(lower=0)
        few, many = Estimate(1, 0.5, 2), Estimate(1, 0.5)
        assert probability_of_meeting(few, limits) == pytest.approx(scipy.stats.t(2).cdf(2))
        assert probability_of_meeting(few, limits) < probability_of_meeting(many, limits)

    @pytest.mark.parametrize(("value", "wanted"), [(0.9, 0.0), (1.0, 1.0), (1.5, 1.0), (2.1, 0.0)])
    def test_an_exact_value_meets_or_not(self, value, wanted):
        assert probability_of_meeting(Estimate(value), Limits(1, 2)) == wanted


class TestReadingDecides:
    @pytest.mark.parametrize(
        ("pounds", "outcome", "margin"),
        [(340, Outcome.MEETS, 0), (339.9, Outcome.FAILS, -0.1), (341, Outcome.MEETS, 1)],
    )
    def test_on_or_inside_meets(self, pounds, outcome, margin):
        decision = decide(Estimate(pounds * POUND, 0.05), Limits(lower=340 * POUND))
        assert decision.outcome is outcome
        assert decision.margin == pytest.approx(margin * POUND)
        assert decision.guard == 0

    def test_says_how_close_all_the_same(self):
        decision = decide(Estimate(340.1, 0.2), Limits(lower=340))
        assert decision.outcome is Outcome.MEETS
        assert (decision.u, decision.limit, decision.side) == (0.2, 340, "lower")
        assert decision.probability == pytest.approx(scipy.stats.norm.cdf(0.5))

    def test_four_pads_added_up_in_any_order_are_the_same_weight(self):
        """0.1 + 0.2 and 0.3 differ in the last bit; nobody fails for that."""
        assert decide(Estimate(0.1 + 0.2), Limits(upper=0.3)).outcome is Outcome.MEETS
        assert decide(Estimate(0.1 + 0.2), Limits(upper=0.3)).margin == 0

    def test_fuel_as_it_comes(self):
        """A car that reads 342 lb without its 2 lb of fuel, minimum 340 lb: legal by 2 dry, 4
        fuelled. Common practice, no source."""
        dry = decide(Estimate(342 * POUND), Limits(lower=340 * POUND))
        fuelled = decide(Estimate(344 * POUND), Limits(lower=340 * POUND))
        assert (dry.margin / POUND, fuelled.margin / POUND) == pytest.approx((2, 4))

    @given(values, values, st.floats(0, 20))
    def test_never_too_close(self, value, lower, width):
        decision = decide(Estimate(value, 1), Limits(lower, lower + width))
        assert decision.outcome in (Outcome.MEETS, Outcome.FAILS)
        inside = lower <= value <= lower + width
        if abs(decision.margin) > 1e-6:
            assert (decision.outcome is Outcome.MEETS) == inside

    def test_the_side_that_is_missed_or_nearest_is_named(self):
        limits = Limits(10, 20)
        assert [decide(Estimate(v), limits).side for v in (9, 11, 19, 21)] == [
            "lower", "lower", "upper", "upper",
        ]  # fmt: skip


class TestGuardBand:
    @pytest.mark.parametrize(
        ("value", "outcome"),
        [
            (340.4, Outcome.MEETS),
            (340.39, Outcome.TOO_CLOSE),
            (340.0, Outcome.TOO_CLOSE),
            (339.61, Outcome.TOO_CLOSE),
            (339.59, Outcome.FAILS),
        ],
    )
    def test_lower_limit(self, value, outcome):
        assert decide(Estimate(value, 0.2), Limits(lower=340), GUARDED).outcome is outcome

    @pytest.mark.parametrize(
        ("value", "outcome"),
        [
            (57.6, Outcome.MEETS),
            (57.7, Outcome.TOO_CLOSE),
            (58.3, Outcome.TOO_CLOSE),
            (58.5, Outcome.FAILS),
        ],
    )
    def test_upper_limit(self, value, outcome):
        assert decide(Estimate(value, 0.2), Limits(upper=58), GUARDED).outcome is outcome

    def test_two_sided(self):
        limits = Limits(10, 20)
        outcomes = {
            v: decide(Estimate(v, 0.5), limits, GUARDED).outcome
            for v in (8.9, 10.5, 15, 19.5, 21.1)
        }
        assert outcomes == {
            8.9: Outcome.FAILS,
            10.5: Outcome.TOO_CLOSE,
            15: Outcome.MEETS,
            19.5: Outcome.TOO_CLOSE,
            21.1: Outcome.FAILS,
        }

    def test_a_band_narrower_than_the_tool_is_never_met(self):
        limits = Limits(10, 11)
        for value in np.linspace(8, 13, 101):
            assert decide(Estimate(value, 0.5), limits, GUARDED).outcome is not Outcome.MEETS

    def test_an_exact_reading_needs_no_guard(self):
        assert decide(Estimate(340), Limits(lower=340), GUARDED).outcome is Outcome.MEETS
        assert decide(Estimate(339.9), Limits(lower=340), GUARDED).outcome is Outcome.FAILS

    @given(values, spreads)
    def test_guarding_never_turns_a_decision_round(self, value, u):
        plain = decide(Estimate(value, u), Limits(lower=0)).outcome
        guarded = decide(Estimate(value, u), Limits(lower=0), GUARDED).outcome
        assert guarded in (plain, Outcome.TOO_CLOSE)

    @given(values, spreads, st.floats(0, 4))
    def test_with_an_even_chance_the_reading_decides(self, value, u, shift):
        limits = Limits(lower=shift)
        assert (
            decide(Estimate(value, u), limits, GUARDED, sure=0.5).outcome
            is decide(Estimate(value, u), limits).outcome
        )

    @pytest.mark.parametrize("sure", [-1.0, 0.4, 1.0, math.nan, math.inf])
    def test_refuses_what_is_no_chance(self, sure):
        with pytest.raises(LimitError) as caught:
            decide(Estimate(1, 1), Limits(lower=0), GUARDED, sure=sure)
        assert caught.value.limit == "sure"


class TestFalseAcceptance:
    """ILAC-G8:09/2019, 4.2: without a guard below 50 %, with w = U below 2.5 %, read off a value
    that is only just accepted; here by drawing the true values themselves."""

    def share_wrongly_met(self, rule: DecisionRule, value: float) -> float:
        decision = decide(Estimate(value, 0.2), Limits(lower=340), rule)
        assert decision.outcome is Outcome.MEETS
        truths = np.random.default_rng(106).normal(value, 0.2, 200_000)
        wrong = float(np.mean(truths < 340))
        assert 1 - decision.probability == pytest.approx(wrong, abs=0.005)
        return wrong

    def test_simple_acceptance(self):
        assert self.share_wrongly_met(READING, 340.0) == pytest.approx(0.5, abs=0.005)
        assert self.share_wrongly_met(READING, 340.05) < 0.5

    def test_guarded(self):
        assert self.share_wrongly_met(GUARDED, 340.4) < 0.025


class TestGuardBandsOfIlacG8:
    """ILAC-G8:09/2019, table of guard bands (from memory but for w = 0 and w = U, which are quoted
    in 4.2): the most that a value which is only just accepted is wrong, U being 2 u."""

    @pytest.mark.parametrize(
        ("w_in_u", "most_wrong"),
        [
            (0.0, 0.5),  # simple acceptance
            (0.83, 0.05),  # as ISO 14253-1 has it
            (1.0, 0.025),
            (1.5, 0.0016),
            (3.0, 1e-6),
        ],
    )
    def test_wrongly_accepted_at_most(self, w_in_u, most_wrong):
        k, u, upper = 2 * w_in_u, 0.2, 58.0
        sure = float(scipy.stats.norm.cdf(k))
        inside = Estimate(upper - k * u - 1e-6, u)
        edge = decide(inside, Limits(upper=upper), GUARDED, sure=sure)
        assert edge.outcome is Outcome.MEETS
        assert edge.guard == pytest.approx(k * u, abs=1e-6)
        assert 1 - edge.probability <= most_wrong + 1e-12
        outside = Estimate(upper - k * u + 1e-3, u)
        over = decide(outside, Limits(upper=upper), GUARDED, sure=sure)
        assert over.outcome is (Outcome.TOO_CLOSE if k else Outcome.FAILS)

    def test_the_club_s_guard_is_u(self):
        """w = U = 2 u, told in tenths of a percent: Phi(2) = 97.725 %."""
        decision = decide(Estimate(57.0, 0.2), Limits(upper=58), GUARDED)
        assert decision.guard == pytest.approx(2 * 0.2, rel=0.003)
        assert SURE <= scipy.stats.norm.cdf(2) < SURE + 0.001


limits_of_any_kind = st.one_of(
    values.map(lambda low: Limits(lower=low)),
    values.map(lambda high: Limits(upper=high)),
    st.tuples(values, st.floats(0, 20)).map(lambda two: Limits(two[0], sum(two))),
)
judged = st.tuples(values, spreads, freedoms, limits_of_any_kind).map(
    lambda drawn: decide(Estimate(*drawn[:3]), drawn[3], GUARDED)
)


class TestTheChanceDecides:
    """JCGM 106:2012, 7 and 8: the guarded verdict is read from the chance and nothing else."""

    @given(judged, judged)
    def test_a_larger_chance_never_gets_the_worse_verdict(self, one, other):
        """Whatever the value, its uncertainty, its degrees of freedom and the limits are."""
        less, more = sorted([one, other], key=lambda decision: decision.probability)
        assert ORDER.index(more.outcome) <= ORDER.index(less.outcome)

    @given(values, values, spreads, freedoms, values, st.none() | st.floats(0, 20))
    def test_nor_against_the_same_limits(self, a, b, u, dof, lower, width):
        """With one limit and with two."""
        limits = Limits(lower, None if width is None else lower + width)
        one, other = (decide(Estimate(value, u, dof), limits, GUARDED) for value in (a, b))
        less, more = sorted([one, other], key=lambda decision: decision.probability)
        assert ORDER.index(more.outcome) <= ORDER.index(less.outcome)

    @given(judged)
    def test_what_is_shown_never_contradicts_the_verdict(self, decision):
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
    def test_a_chance_is_rounded_towards_one_half(self, probability, shown):
        assert chance(probability) == shown

    def test_two_verdicts_that_went_the_wrong_way_round(self):
        """One weighing 0.2 over with u = 0.2/sqrt 3, and the mean of two, 0.3 over, whose u of
        0.1 stands on one degree of freedom: 95.8 % and 89.8 %."""
        limits = Limits(lower=320)
        sure = decide(Estimate(320.2, 0.2 / math.sqrt(3)), limits, GUARDED)
        less = decide(Estimate(320.3, 0.1, 1), limits, GUARDED)
        assert sure.probability == pytest.approx(0.958, abs=5e-4)
        assert less.probability == pytest.approx(0.898, abs=5e-4)
        assert (sure.outcome, less.outcome) == (Outcome.TOO_CLOSE, Outcome.TOO_CLOSE)

    @given(judged)
    def test_the_guard_is_where_it_would_be_sure(self, decision):
        if decision.outcome is Outcome.TOO_CLOSE:
            assert abs(decision.margin) < decision.guard
        elif math.isfinite(decision.guard):
            assert abs(decision.margin) >= decision.guard * (1 - 1e-9)

    @given(values, spreads, freedoms, st.none() | st.floats(0, 20))
    def test_a_figure_at_its_guard_has_just_that_chance(self, lower, u, dof, width):
        limits = Limits(lower, None if width is None else lower + width)
        found = decide(Estimate(lower, u, dof), limits, GUARDED)
        if math.isfinite(found.guard):
            there = Estimate(lower + found.guard, u, dof)
            assert probability_of_meeting(there, limits) == pytest.approx(SURE, abs=1e-9)
        else:
            middle = Estimate(lower + width / 2, u, dof)
            assert probability_of_meeting(middle, limits) < SURE

    @given(st.floats(0.501, 0.999), freedoms)
    def test_the_quantile_against_scipy(self, p, dof):
        theirs = scipy.stats.norm.ppf(p) if math.isinf(dof) else scipy.stats.t(dof).ppf(p)
        assert quantile(p, dof) == pytest.approx(theirs, rel=1e-9)


class TestWhatIsSaid:
    pounds = Units.imperial()

    def said(self, estimate, limits, kind=Kind.PERCENT):
        return say_decision(decide(estimate, limits, GUARDED), kind, self.pounds)

    def test_closer_than_what_it_must_clear_it_by_is_true_as_written(self):
        said = self.said(
            Estimate(320.2 * POUND, 0.2 / math.sqrt(3) * POUND),
            Limits(lower=320 * POUND),
            Kind.MASS,
        )
        assert said == (
            "320.2 lb is 0.2 lb over the least allowed, 320 lb, closer than the 0.23 lb it must "
            "clear it by; take it again. Good to ±0.23 lb; chance that it meets: 95.8%."
        )

    @given(st.floats(0, 2), st.floats(1e-5, 2), st.sampled_from([Kind.MASS, Kind.LENGTH]))
    def test_the_larger_of_two_gaps_reads_so(self, less, more, kind):
        near, far = say_apart(less, less + more, kind, Units.metric())
        assert float(near.split()[0]) < float(far.split()[0])

    def test_limits_nearer_to_each_other_than_the_tool_tells(self):
        said = self.said(Estimate(54.55, 0.2), Limits(54.3, 54.8))
        assert "cannot tell limits so near each other" in said
        assert "closer than" not in said

    @pytest.mark.parametrize("how", [READING, GUARDED])
    def test_margin_u_and_chance_stand_either_way(self, how):
        decision = decide(Estimate(57.0, 0.2), Limits(upper=58), how)
        assert (decision.margin, decision.u) == (1.0, 0.2)
        assert decision.probability == pytest.approx(scipy.stats.norm.cdf(5))


class TestLimits:
    @pytest.mark.parametrize(
        ("arguments", "named"),
        [
            ({}, "limits"),
            ({"lower": math.nan}, "lower limit"),
            ({"upper": math.inf}, "upper limit"),
            ({"lower": 2, "upper": 1}, "lower limit"),
        ],
    )
    def test_names_what_nothing_can_meet(self, arguments, named):
        with pytest.raises(LimitError) as caught:
            Limits(**arguments)
        assert caught.value.limit == named

    def test_a_single_value_may_be_allowed(self):
        assert decide(Estimate(5), Limits(5, 5)).outcome is Outcome.MEETS
        assert decide(Estimate(5.1), Limits(5, 5)).outcome is Outcome.FAILS


def test_the_worst_of_several():
    meets, fails, close, unseen = (
        Outcome.MEETS, Outcome.FAILS, Outcome.TOO_CLOSE, Outcome.NOT_CHECKED,
    )  # fmt: skip
    assert worst([meets, unseen, close, fails]) is fails
    assert worst([meets, unseen, close]) is close
    assert worst([meets, unseen]) is unseen
    assert worst([meets, meets]) is meets
    assert worst([]) is meets
