"""Conformity against JCGM 106's examples and ILAC-G8's two bounds, and by simulation."""

import math
from typing import Any

import numpy as np
import pytest
import scipy.stats
from hypothesis import assume, given
from hypothesis import strategies as st

from clubsetup.quantities.uncertainty import Estimate, probability_below
from events.rules.decision import (
    SURE,
    DecisionRule,
    LimitError,
    Outcome,
    RuleLimits,
    _by_chance,
    decide,
    probability_of_meeting,
    worst,
)

READING, GUARDED = DecisionRule.READING, DecisionRule.GUARDED
POUND = 0.45359237
values = st.floats(-50, 50)
spreads = st.floats(0.01, 5)


def test_a_decision_holds_the_estimate_that_it_is_of() -> None:
    decision = decide(Estimate(263.5, 0.4, 7), RuleLimits(lower=260))
    assert (decision.value, decision.u, decision.dof) == (263.5, 0.4, 7)


class TestProbability:
    @pytest.mark.parametrize(
        ("value", "u", "limits", "wanted"),
        [
            (-5.47, 0.05, RuleLimits(upper=-5.40), 0.919243),
            (509.7, 8.6, RuleLimits(lower=490), 0.989010),
            (13.6, 1.8, RuleLimits(12.5, 16.3), 0.662630),
        ],
    )
    def test_jcgm_106_examples(
        self, value: float, u: float, limits: RuleLimits, wanted: float
    ) -> None:
        """JCGM 106:2012, worked examples; their inputs from memory."""
        assert probability_of_meeting(Estimate(value, u), limits) == pytest.approx(wanted, abs=5e-7)

    @given(values, spreads, values, st.floats(0, 20))
    def test_against_scipy(self, value: float, u: float, lower: float, width: float) -> None:
        theirs = scipy.stats.norm(value, u)
        for limits, wanted in (
            (RuleLimits(lower=lower), theirs.sf(lower)),
            (RuleLimits(upper=lower), theirs.cdf(lower)),
            (RuleLimits(lower, lower + width), theirs.cdf(lower + width) - theirs.cdf(lower)),
        ):
            ours = probability_of_meeting(Estimate(value, u), limits)
            assert ours == pytest.approx(wanted, abs=1e-12)

    def test_few_repeats_make_it_less_sure(self) -> None:
        limits = RuleLimits(lower=0)
        few, many = Estimate(1, 0.5, 2), Estimate(1, 0.5)
        assert probability_of_meeting(few, limits) == pytest.approx(scipy.stats.t(2).cdf(2))
        assert probability_of_meeting(few, limits) < probability_of_meeting(many, limits)

    @pytest.mark.parametrize(("value", "wanted"), [(0.9, 0.0), (1.0, 1.0), (1.5, 1.0), (2.1, 0.0)])
    def test_an_exact_value_meets_or_not(self, value: float, wanted: float) -> None:
        assert probability_of_meeting(Estimate(value), RuleLimits(1, 2)) == wanted


class TestReadingDecides:
    @pytest.mark.parametrize(
        ("pounds", "outcome", "margin"),
        [(340, Outcome.MEETS, 0), (339.9, Outcome.FAILS, -0.1), (341, Outcome.MEETS, 1)],
    )
    def test_on_or_inside_meets(self, pounds: float, outcome: Outcome, margin: float) -> None:
        decision = decide(Estimate(pounds * POUND, 0.05), RuleLimits(lower=340 * POUND))
        assert decision.outcome is outcome
        assert decision.margin == pytest.approx(margin * POUND)
        assert decision.guard == 0

    def test_says_how_close_all_the_same(self) -> None:
        decision = decide(Estimate(340.1, 0.2), RuleLimits(lower=340))
        assert decision.outcome is Outcome.MEETS
        assert (decision.u, decision.limit, decision.side) == (0.2, 340, "lower")
        assert decision.probability == pytest.approx(scipy.stats.norm.cdf(0.5))

    def test_four_pads_added_up_in_any_order_are_the_same_weight(self) -> None:
        """0.1 + 0.2 and 0.3 differ in the last bit; nobody fails for that."""
        assert decide(Estimate(0.1 + 0.2), RuleLimits(upper=0.3)).outcome is Outcome.MEETS
        assert decide(Estimate(0.1 + 0.2), RuleLimits(upper=0.3)).margin == 0

    @pytest.mark.parametrize(
        ("value", "limit", "margin"),
        [
            (1e-9, 0.0, 0.0),
            (-1e-9, 0.0, 0.0),
            (1.5e-9, 0.0, 1.5e-9),
            (1000 + 5e-7, 1000.0, 0.0),  # rounding grows with the figure
        ],
    )
    def test_a_margin_of_nothing_but_rounding_is_none(
        self, value: float, limit: float, margin: float
    ) -> None:
        assert decide(Estimate(value), RuleLimits(lower=limit)).margin == margin

    def test_fuel_as_it_comes(self) -> None:
        """A car that reads 342 lb without its 2 lb of fuel, minimum 340 lb: legal by 2 dry, 4
        fuelled. Common practice, no source."""
        dry = decide(Estimate(342 * POUND), RuleLimits(lower=340 * POUND))
        fuelled = decide(Estimate(344 * POUND), RuleLimits(lower=340 * POUND))
        assert (dry.margin / POUND, fuelled.margin / POUND) == pytest.approx((2, 4))

    @given(values, values, st.floats(0, 20))
    def test_never_too_close(self, value: float, lower: float, width: float) -> None:
        decision = decide(Estimate(value, 1), RuleLimits(lower, lower + width))
        assert decision.outcome in (Outcome.MEETS, Outcome.FAILS)
        inside = lower <= value <= lower + width
        if abs(decision.margin) > 1e-6:
            assert (decision.outcome is Outcome.MEETS) == inside

    def test_the_side_that_is_missed_or_nearest_is_named(self) -> None:
        limits = RuleLimits(10, 20)
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
    def test_lower_limit(self, value: float, outcome: Outcome) -> None:
        assert decide(Estimate(value, 0.2), RuleLimits(lower=340), GUARDED).outcome is outcome

    @pytest.mark.parametrize(
        ("value", "outcome"),
        [
            (57.6, Outcome.MEETS),
            (57.7, Outcome.TOO_CLOSE),
            (58.3, Outcome.TOO_CLOSE),
            (58.5, Outcome.FAILS),
        ],
    )
    def test_upper_limit(self, value: float, outcome: Outcome) -> None:
        assert decide(Estimate(value, 0.2), RuleLimits(upper=58), GUARDED).outcome is outcome

    def test_two_sided(self) -> None:
        limits = RuleLimits(10, 20)
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

    def test_a_band_narrower_than_the_tool_is_never_met(self) -> None:
        limits = RuleLimits(10, 11)
        for value in np.linspace(8, 13, 101):
            assert decide(Estimate(value, 0.5), limits, GUARDED).outcome is not Outcome.MEETS

    def test_an_exact_reading_needs_no_guard(self) -> None:
        assert decide(Estimate(340), RuleLimits(lower=340), GUARDED).outcome is Outcome.MEETS
        assert decide(Estimate(339.9), RuleLimits(lower=340), GUARDED).outcome is Outcome.FAILS

    @given(values, spreads)
    def test_guarding_never_turns_a_decision_round(self, value: float, u: float) -> None:
        plain = decide(Estimate(value, u), RuleLimits(lower=0)).outcome
        guarded = decide(Estimate(value, u), RuleLimits(lower=0), GUARDED).outcome
        assert guarded in (plain, Outcome.TOO_CLOSE)

    @given(values, spreads, st.floats(0, 4))
    def test_with_an_even_chance_the_reading_decides(
        self, value: float, u: float, shift: float
    ) -> None:
        assume(value == shift or abs(value - shift) > 1e-6)  # nearer is nothing but rounding
        limits = RuleLimits(lower=shift)
        assert (
            decide(Estimate(value, u), limits, GUARDED, sure=0.5).outcome
            is decide(Estimate(value, u), limits).outcome
        )

    @pytest.mark.parametrize("sure", [-1.0, 0.4, 1.0, math.nan, math.inf])
    def test_refuses_what_is_no_chance(self, sure: float) -> None:
        with pytest.raises(LimitError) as caught:
            decide(Estimate(1, 1), RuleLimits(lower=0), GUARDED, sure=sure)
        assert caught.value.limit == "sure"
        assert caught.value.problem == f"must be at least one half and under one, not {sure!r}"

    @pytest.mark.parametrize(
        ("chance", "sure", "outcome"),
        [
            (0.977, SURE, Outcome.MEETS),
            (0.976999, SURE, Outcome.TOO_CLOSE),
            (0.023001, SURE, Outcome.TOO_CLOSE),
            (0.023, SURE, Outcome.FAILS),
            (0.75, 0.75, Outcome.MEETS),
            (0.25, 0.75, Outcome.FAILS),
            (0.443, 0.557, Outcome.FAILS),  # 1 - 0.557 is a little less as a binary fraction
        ],
    )
    def test_a_chance_on_the_threshold_is_enough(
        self, chance: float, sure: float, outcome: Outcome
    ) -> None:
        assert _by_chance(chance, sure) is outcome


class TestGuardBetweenTwoLimits:
    """By the meaning of the guard: a value at that margin has just the chance that is asked for."""

    @pytest.mark.parametrize("u", [1.0, 0.2])
    @pytest.mark.parametrize("dof", [math.inf, 8.0])
    @pytest.mark.parametrize("margin", [0.0, 0.5, 2.0])
    def test_inside(self, u: float, dof: float, margin: float) -> None:
        lower, upper = 100.0, 100.0 + (5.0 if dof == math.inf else 7.0)
        limits = RuleLimits(lower, upper)
        for value, inwards, edge in ((lower + margin, 1, lower), (upper - margin, -1, upper)):
            guard = decide(Estimate(value, u, dof), limits, GUARDED).guard
            assert 0 < guard < (upper - lower) / 2
            there = Estimate(edge + inwards * guard, u, dof)
            assert probability_of_meeting(there, limits) == pytest.approx(SURE, abs=1e-9)

    @pytest.mark.parametrize("u", [1.0, 0.2])
    @pytest.mark.parametrize("dof", [math.inf, 8.0])
    def test_outside(self, u: float, dof: float) -> None:
        limits = RuleLimits(100.0, 105.0)
        for value, outwards, edge in ((99.5, -1, 100.0), (105.5, 1, 105.0)):
            guard = decide(Estimate(value, u, dof), limits, GUARDED).guard
            assert guard > 0
            there = Estimate(edge + outwards * guard, u, dof)
            assert probability_of_meeting(there, limits) == pytest.approx(1 - SURE, abs=1e-9)

    def test_one_limit_has_the_quantile_of_the_repeats(self) -> None:
        guard = decide(Estimate(1.0, 0.5, 3), RuleLimits(lower=0), GUARDED).guard
        assert guard == pytest.approx(0.5 * scipy.stats.t(3).ppf(SURE), rel=1e-9)

    def test_limits_too_near_each_other_for_the_tool(self) -> None:
        limits = RuleLimits(100.0, 100.01)
        assert decide(Estimate(100.005, 1.0), limits, GUARDED).guard == math.inf
        # Outside them every value is sure to fail, from the limit on.
        assert decide(Estimate(99.9, 1.0), limits, GUARDED).guard == 0

    def test_limits_between_which_the_middle_alone_is_sure(self) -> None:
        sure = 2 * probability_below(2.5, Estimate(0.0, 1.0)) - 1
        assert decide(Estimate(102.5, 1.0), RuleLimits(100, 105), GUARDED, sure=sure).guard == 2.5

    def test_an_exact_value_needs_none(self) -> None:
        assert decide(Estimate(102.0), RuleLimits(100, 105), GUARDED).guard == 0


class TestFalseAcceptance:
    """ILAC-G8:09/2019, 4.2: without a guard below 50 %, with w = U below 2.5 %, read off a value
    that is only just accepted; here by drawing the true values themselves."""

    def share_wrongly_met(self, rule: DecisionRule, value: float) -> float:
        decision = decide(Estimate(value, 0.2), RuleLimits(lower=340), rule)
        assert decision.outcome is Outcome.MEETS
        truths = np.random.default_rng(106).normal(value, 0.2, 200_000)
        wrong = float(np.mean(truths < 340))
        assert 1 - decision.probability == pytest.approx(wrong, abs=0.005)
        return wrong

    def test_simple_acceptance(self) -> None:
        assert self.share_wrongly_met(READING, 340.0) == pytest.approx(0.5, abs=0.005)
        assert self.share_wrongly_met(READING, 340.05) < 0.5

    def test_guarded(self) -> None:
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
    def test_wrongly_accepted_at_most(self, w_in_u: float, most_wrong: float) -> None:
        k, u, upper = 2 * w_in_u, 0.2, 58.0
        sure = float(scipy.stats.norm.cdf(k))
        inside = Estimate(upper - k * u - 1e-6, u)
        edge = decide(inside, RuleLimits(upper=upper), GUARDED, sure=sure)
        assert edge.outcome is Outcome.MEETS
        assert edge.guard == pytest.approx(k * u, abs=1e-6)
        assert 1 - edge.probability <= most_wrong + 1e-12
        outside = Estimate(upper - k * u + 1e-3, u)
        over = decide(outside, RuleLimits(upper=upper), GUARDED, sure=sure)
        assert over.outcome is (Outcome.TOO_CLOSE if k else Outcome.FAILS)

    def test_the_club_s_guard_is_u(self) -> None:
        """w = U = 2 u, told in tenths of a percent: Phi(2) = 97.725 %."""
        decision = decide(Estimate(57.0, 0.2), RuleLimits(upper=58), GUARDED)
        assert decision.guard == pytest.approx(2 * 0.2, rel=0.003)
        assert SURE <= scipy.stats.norm.cdf(2) < SURE + 0.001

    @pytest.mark.parametrize("how", [READING, GUARDED])
    def test_margin_u_and_chance_stand_either_way(self, how: DecisionRule) -> None:
        decision = decide(Estimate(57.0, 0.2), RuleLimits(upper=58), how)
        assert (decision.margin, decision.u) == (1.0, 0.2)
        assert decision.probability == pytest.approx(scipy.stats.norm.cdf(5))


class TestLimits:
    @pytest.mark.parametrize(
        ("arguments", "named", "problem"),
        [
            ({}, "limits", "at least one is needed"),
            ({"lower": math.nan}, "lower limit", "must be a finite number, not nan"),
            ({"upper": math.inf}, "upper limit", "must be a finite number, not inf"),
            ({"lower": 2, "upper": 1}, "lower limit", "2 is above the upper, 1"),
        ],
    )
    def test_names_what_nothing_can_meet(
        self, arguments: dict[str, Any], named: str, problem: str
    ) -> None:
        with pytest.raises(LimitError) as caught:
            RuleLimits(**arguments)
        assert (caught.value.limit, caught.value.problem) == (named, problem)
        assert str(caught.value) == f"{named}: {problem}"

    def test_a_single_value_may_be_allowed(self) -> None:
        assert decide(Estimate(5), RuleLimits(5, 5)).outcome is Outcome.MEETS
        assert decide(Estimate(5.1), RuleLimits(5, 5)).outcome is Outcome.FAILS


def test_the_worst_of_several() -> None:
    meets, fails, close, unseen = (
        Outcome.MEETS, Outcome.FAILS, Outcome.TOO_CLOSE, Outcome.NOT_CHECKED,
    )  # fmt: skip
    assert worst([meets, unseen, close, fails]) is fails
    assert worst([meets, unseen, close]) is close
    assert worst([meets, unseen]) is unseen
    assert worst([meets, meets]) is meets
    assert worst([]) is meets
