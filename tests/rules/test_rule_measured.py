"""Rules on what an official reads off the car."""

from typing import Any

import pytest

from clubsetup.quantities.uncertainty import Estimate
from events.rules import (
    DecisionRule,
    Facts,
    Outcome,
    ParameterError,
    Where,
    rule_from,
)


class TestLengths:
    def heights(self, **spots: float) -> Facts:
        return Facts(readings={Where("ride-height", s): Estimate(v, 0.4) for s, v in spots.items()})

    def test_every_spot_must_meet_and_the_worst_is_told(self) -> None:
        rule = rule_from("length_limit", {"measure": "ride-height", "at_least": "50.8"})
        result = rule.check(self.heights(LF=60, RF=49, LR=55, RR=70))
        assert result.outcome is Outcome.FAILS
        assert result.sentence.startswith("Ride height RF: ")
        assert result.value == 49
        assert rule.check(self.heights(LF=60, RF=51)).outcome is Outcome.MEETS

    def test_the_worst_verdict_is_told_before_the_least_margin(self) -> None:
        """A coarser tool may be too close at the larger margin."""
        rule = rule_from("length_limit", {"measure": "ride-height", "at_least": "50"})
        read = {
            Where("ride-height", "LF"): Estimate(50.3, 0.01),
            Where("ride-height", "RF"): Estimate(50.5, 0.4),
        }
        result = rule.check(Facts(readings=read), DecisionRule.GUARDED)
        assert result.outcome is Outcome.TOO_CLOSE
        assert result.sentence.startswith("Ride height RF: ")

    def test_one_spot_only(self) -> None:
        rule = rule_from(
            "length_limit", {"measure": "ride-height", "spot": "LF", "at_least": "50.8"}
        )
        assert rule.check(self.heights(LF=60, RF=40)).outcome is Outcome.MEETS
        assert rule.check(self.heights(RF=60)).outcome is Outcome.NOT_CHECKED

    def test_in_inches(self) -> None:
        rule = rule_from("length_limit", {"measure": "ride-height", "at_least": "50.8"})
        assert rule.words() == "Ride height at least 2 in"
        result = rule.check(Facts(readings={Where("ride-height", "LF"): Estimate(47.625, 0.4)}))
        assert "1 7/8 in is 1/8 in under the least allowed, 2 in." in result.sentence

    def test_another_measure_does_not_count(self) -> None:
        rule = rule_from("length_limit", {"measure": "wheelbase", "at_most": "1300"})
        assert rule.check(self.heights(LF=60)).outcome is Outcome.NOT_CHECKED

    @pytest.mark.parametrize(
        ("params", "named"),
        [
            ({"at_least": "1"}, "measure"),
            ({"measure": "track"}, "at_least"),
            ({"measure": "track", "at_most": "1", "spot": "roof"}, "spot"),
        ],
    )
    def test_names_what_is_wrong(self, params: dict[str, Any], named: str) -> None:
        with pytest.raises(ParameterError) as caught:
            rule_from("length_limit", params)
        assert caught.value.parameter == named


class TestRequiredReading:
    seen = Facts(readings={Where("toe", "front"): Estimate(0.0)})

    def test_any_spot_will_do_without_one(self) -> None:
        assert rule_from("required_reading", {"measure": "toe"}).check(self.seen).outcome is (
            Outcome.MEETS
        )

    def test_that_spot(self) -> None:
        rule = rule_from("required_reading", {"measure": "toe", "spot": "rear"})
        assert rule.check(self.seen).outcome is Outcome.FAILS
        assert rule.words() == "Toe rear must be measured"

    def test_looked_and_found_none(self) -> None:
        rule = rule_from("required_reading", {"measure": "toe"})
        assert rule.check(Facts(readings={})).outcome is Outcome.FAILS
