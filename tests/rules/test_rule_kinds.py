"""Every kind of rule: its words, its parameters, an example car on either side."""

import json
import math
from typing import Any

import pytest

from clubsetup.quantities.units import Units
from events.rules import (
    KINDS,
    DecisionRule,
    Facts,
    Outcome,
    ParameterError,
    UnknownRuleKind,
    check_together,
    rule_from,
)
from events.rules.base import RuleKind
from events.rules.kinds import by_name
from events.rules.weight import MinimumWeight


def both_cars(rule: RuleKind) -> list[Facts]:
    return [rule.example_pass(), rule.example_fail()]


def names_under(kind: type[Any]) -> set[str]:
    """Of every kind below this one in the rooms of rules that has a name of its own."""
    below = kind.__subclasses__()
    ours = [one for one in below if one.__module__.startswith("events.")]
    return {one.kind for one in ours if "kind" in vars(one)}.union(*map(names_under, below))


every_kind = pytest.mark.parametrize("kind", KINDS.values(), ids=KINDS)


class TestEveryKind:
    """A sweep of the registry: what holds for a kind that somebody adds tomorrow, too."""

    @every_kind
    def test_the_example_car_meets(self, kind: type[RuleKind]) -> None:
        for how in DecisionRule:
            assert kind.example().check(kind.example().example_pass(), how).outcome is Outcome.MEETS

    @every_kind
    def test_the_other_example_car_fails(self, kind: type[RuleKind]) -> None:
        for how in DecisionRule:
            assert kind.example().check(kind.example().example_fail(), how).outcome is Outcome.FAILS

    @every_kind
    def test_without_evidence_nothing_is_checked(self, kind: type[RuleKind]) -> None:
        result = kind.example().check(Facts())
        assert result.outcome is Outcome.NOT_CHECKED
        assert result.evidence() == {}
        assert result.sentence.endswith(".")

    @every_kind
    def test_comes_back_from_json(self, kind: type[RuleKind]) -> None:
        rule = kind.example()
        kept = json.loads(json.dumps(rule.to_params()))
        assert rule_from(kind.kind, kept) == rule
        assert rule_from(kind.kind, kept).to_params() == kept

    @every_kind
    def test_speaks_in_one_line_in_either_units(self, kind: type[RuleKind]) -> None:
        for units in (Units.imperial(), Units.metric()):
            words = kind.example().words(units)
            assert 10 < len(words) < 200
            assert "\n" not in words
            for facts in [*both_cars(kind.example()), Facts()]:
                assert 5 < len(kind.example().check(facts, units=units).sentence) < 400

    @every_kind
    def test_evidence_is_json_and_finite(self, kind: type[RuleKind]) -> None:
        for facts in both_cars(kind.example()):
            evidence = json.loads(json.dumps(kind.example().check(facts).evidence()))
            assert all(math.isfinite(figure) for figure in evidence.values())

    @every_kind
    def test_an_unknown_parameter_is_named(self, kind: type[RuleKind]) -> None:
        with pytest.raises(ParameterError) as caught:
            kind.from_params({**kind.example().to_params(), "colour": "red"})
        assert caught.value.parameter == "colour"

    @every_kind
    def test_a_form_can_ask_for_every_parameter(self, kind: type[RuleKind]) -> None:
        asked = kind.parameters()
        assert asked.keys() >= kind.example().to_params().keys()
        for parameter in asked.values():
            assert parameter.label
            assert (parameter.sort == "quantity") == (parameter.quantity is not None)
            assert (parameter.sort == "choice") == bool(parameter.choices)

    @every_kind
    def test_each_parameter_refuses_what_it_is_not(self, kind: type[RuleKind]) -> None:
        wrong = {"quantity": "heavy", "whole": 2.5, "choice": "never", "yes_no": "yes", "text": 7}
        for name, parameter in kind.parameters().items():
            with pytest.raises(ParameterError) as caught:
                kind.from_params({**kind.example().to_params(), name: wrong[parameter.sort]})
            assert caught.value.parameter == name

    def test_nobody_takes_a_name_twice(self) -> None:
        with pytest.raises(ValueError, match="minimum_weight"):
            by_name(MinimumWeight, MinimumWeight)

    def test_no_kind_is_left_out_of_the_list(self) -> None:
        assert names_under(RuleKind) == KINDS.keys()

    def test_a_kind_that_is_left_out_is_seen(self) -> None:
        """One that stands in no list shows where the list is held to the classes."""

        class LeftOut(MinimumWeight):
            kind = "left_out"

        LeftOut.__module__ = "events.rules.left_out"
        try:
            assert names_under(RuleKind) - KINDS.keys() == {"left_out"}
        finally:
            LeftOut.__module__ = __name__

    def test_the_kinds_a_club_needs_are_there(self) -> None:
        assert KINDS.keys() >= {
            "minimum_weight", "ballast_marked", "ballast_largest_piece", "ballast_fixed",
            "ballast_place", "left_limit", "rear_limit", "cross_limit", "driver_age",
            "driver_weight_band", "ride_height_limit", "wheelbase_limit", "track_width_limit",
            "tyre_limit", "length_limit", "required_reading",
        }  # fmt: skip

    def test_an_unknown_kind(self) -> None:
        with pytest.raises(UnknownRuleKind, match="best_looking"):
            rule_from("best_looking", {})


class TestParameters:
    @pytest.mark.parametrize("raw", ["nan", "inf", "1e9", "", "heavy", True, [], {}])
    def test_a_quantity_that_is_none(self, raw: Any) -> None:
        with pytest.raises(ParameterError) as caught:
            rule_from("minimum_weight", {"minimum": raw})
        assert caught.value.parameter == "minimum"

    @pytest.mark.parametrize("raw", ["154.2214058", 154.2214058])
    def test_a_quantity_is_kept_exactly(self, raw: Any) -> None:
        rule = rule_from("minimum_weight", {"minimum": raw})
        assert rule.to_params()["minimum"] == "154.2214058"

    def test_a_needed_one(self) -> None:
        with pytest.raises(ParameterError) as caught:
            rule_from("minimum_weight", {"minimum": None})
        assert (caught.value.parameter, caught.value.problem) == ("minimum", "is needed")

    @pytest.mark.parametrize("kind", ["left_limit", "driver_age", "driver_weight_band"])
    def test_a_band_that_nothing_can_meet(self, kind: str) -> None:
        with pytest.raises(ParameterError) as caught:
            rule_from(kind, {"at_least": 60, "at_most": 50})
        assert caught.value.parameter == "at_most"
        with pytest.raises(ParameterError, match="least"):
            rule_from(kind, {})

    def test_text_too_long_to_be_a_measure(self) -> None:
        with pytest.raises(ParameterError, match="measure"):
            rule_from("required_reading", {"measure": "x" * 100})
        with pytest.raises(ParameterError, match="measure: is needed"):
            rule_from("required_reading", {"measure": " "})


class TestTogether:
    def test_two_about_the_same_cannot_stand(self) -> None:
        for kind in KINDS.values():
            with pytest.raises(ParameterError) as caught:
                check_together([kind.example(), kind.example()])
            assert caught.value.parameter == "kind"
            assert "stands already" in kind.refusal_text(caught.value)

    def test_all_the_examples_can(self) -> None:
        check_together(kind.example() for kind in KINDS.values())

    @pytest.mark.parametrize(
        ("kind", "other"),
        [
            ("minimum_weight", {"minimum": 150, "stage": "entry"}),
            ("minimum_weight", {"minimum": 120, "with_driver": False}),
            ("minimum_weight", {"minimum": 120, "fuel": "tank_empty"}),
            ("tyre_limit", {"spot": "LR", "at_most": 850}),
            ("length_limit", {"measure": "chain-slack", "at_most": 25}),
        ],
    )
    def test_another_state_or_spot_of_the_car_has_a_rule_of_its_own(
        self, kind: str, other: dict[str, Any]
    ) -> None:
        check_together([KINDS[kind].example(), rule_from(kind, other)])


def test_a_refusal_names_the_parameter_as_the_form_does() -> None:
    kind = KINDS["driver_age"]
    assert kind.refusal_text(ParameterError("at_most", "is too old")) == "Oldest is too old."
    assert kind.refusal_text(ParameterError("colour", "is red")) == "Colour is red."
