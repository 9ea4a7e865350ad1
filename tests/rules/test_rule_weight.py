"""Rules on what the scales say."""

from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from clubsetup.quantities.uncertainty import Estimate
from clubsetup.quantities.units import Units
from events.rules import (
    DecisionRule,
    Facts,
    Outcome,
    Stage,
    rule_from,
)
from events.rules.base import RuleKind

GUARDED = DecisionRule.GUARDED
POUND = 0.45359237


class TestMinimumWeight:
    def rule(self, **more: Any) -> RuleKind:
        return rule_from("minimum_weight", {"minimum": "154.2214058", **more})

    def weighed(
        self,
        pounds: float,
        *,
        driver_in: bool | None = True,
        stage: Stage | None = Stage.AFTER,
        u: float = 0.09,
    ) -> Facts:
        return Facts(stage=stage, driver_in=driver_in, weight=Estimate(pounds * POUND, u))

    def test_words(self) -> None:
        assert self.rule().words() == "At least 340 lb with the driver, fuel as it comes"
        words = self.rule(stage="after", with_driver=False).words(Units.metric())
        assert words == "At least 154.22 kg without the driver after the race, fuel as it comes"

    def test_legal_by_two_dry_and_by_four_fuelled(self) -> None:
        """Common practice, no source: 342 lb without its 2 lb of fuel, minimum 340 lb."""
        dry, fuelled = self.rule().check(self.weighed(342)), self.rule().check(self.weighed(344))
        assert dry.sentence.startswith("342 lb is 2 lb over the least allowed, 340 lb.")
        assert fuelled.sentence.startswith("344 lb is 4 lb over the least allowed, 340 lb.")
        assert dry.margin == pytest.approx(2 * POUND)

    def test_exactly_on_the_minimum_meets(self) -> None:
        result = self.rule().check(self.weighed(340))
        assert result.outcome is Outcome.MEETS
        assert result.sentence.startswith("340 lb is exactly the least allowed, 340 lb.")
        assert result.probability == pytest.approx(0.5)

    def test_a_hair_under_fails_and_the_sentence_shows_the_hair(self) -> None:
        result = self.rule().check(self.weighed(339.99))
        assert result.outcome is Outcome.FAILS
        assert "0.01 lb under" in result.sentence

    def test_with_a_guard_band_it_is_too_close(self) -> None:
        close = self.weighed(340.2)
        assert self.rule().check(close).outcome is Outcome.MEETS
        result = self.rule().check(close, GUARDED)
        assert result.outcome is Outcome.TOO_CLOSE
        assert "closer than" in result.sentence
        assert "take it again" in result.sentence
        assert result.margin == pytest.approx(0.2 * POUND)

    def test_the_other_stage_does_not_count(self) -> None:
        rule = self.rule(stage="after")
        before = self.weighed(338, stage=Stage.ENTRY)
        assert rule.check(before).outcome is Outcome.NOT_CHECKED
        assert rule.check(before).sentence == "Not weighed after the race yet."
        assert rule.check(self.weighed(338)).outcome is Outcome.FAILS
        assert self.rule().check(before).outcome is Outcome.FAILS

    def test_the_driver_must_be_as_the_rule_says(self) -> None:
        result = self.rule(with_driver=False).check(self.weighed(342))
        assert result.outcome is Outcome.NOT_CHECKED
        assert "with the driver" in result.sentence
        empty = self.weighed(342, driver_in=False)
        assert self.rule(with_driver=False).check(empty).outcome is Outcome.MEETS
        assert self.rule().check(empty).outcome is Outcome.NOT_CHECKED

    def test_an_exact_weight_needs_no_talk_of_chance(self) -> None:
        assert "chance" not in self.rule().check(self.weighed(342, u=0)).sentence


class TestShares:
    @pytest.mark.parametrize("share", ["left", "rear", "cross"])
    def test_looks_at_its_own_share_only(self, share: str) -> None:
        rule = rule_from(f"{share}_limit", {"at_least": "50", "at_most": "55"})
        others: dict[str, Any] = {
            name: Estimate(70) for name in ("left", "rear", "cross") if name != share
        }
        assert rule.check(Facts(**others)).outcome is Outcome.NOT_CHECKED
        assert rule.check(Facts(**{**others, share: Estimate(52.5)})).outcome is Outcome.MEETS
        for percent in (49.9, 55.1):
            alone: dict[str, Any] = {share: Estimate(percent)}
            assert rule.check(Facts(**alone)).outcome is Outcome.FAILS

    def test_words(self) -> None:
        rule = rule_from("left_limit", {"at_least": "50", "at_most": "58.5"})
        assert rule.words() == "Left side from 50% to 58.5% of the weight"
        assert (
            rule_from("left_limit", {"at_most": 58}).words()
            == "Left side at most 58% of the weight"
        )
        rear = rule_from("rear_limit", {"at_least": "50"})
        assert rear.words() == "Rear at least 50% of the weight"
        assert rule_from("cross_limit", {"at_least": 55, "at_most": 55}).words() == (
            "Cross exactly 55% of the weight"
        )

    def test_near_its_limit_it_says_how_sure(self) -> None:
        rule = rule_from("left_limit", {"at_most": "58"})
        result = rule.check(Facts(left=Estimate(58.05, 0.05)))
        assert result.outcome is Outcome.FAILS
        assert "15.9%" in result.sentence
        assert rule.check(Facts(left=Estimate(58.05, 0.05)), GUARDED).outcome is Outcome.TOO_CLOSE


@given(st.floats(0.1, 400), st.floats(0, 2), st.decimals(Decimal("0.1"), 400, places=4))
def test_reading_and_sentence_agree(value: float, u: float, minimum: Decimal) -> None:
    rule = rule_from("minimum_weight", {"minimum": str(minimum)})
    result = rule.check(Facts(stage=Stage.ENTRY, driver_in=True, weight=Estimate(value, u)))
    assert (" under the least" in result.sentence) == (result.outcome is Outcome.FAILS)
    assert result.margin is not None
    assert (result.margin < 0) == (result.outcome is Outcome.FAILS)
