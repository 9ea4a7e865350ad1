"""What no class would ask for is refused in the steward's units; what is accepted always works."""

import json
import math
import re
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from clubsetup.quantities.reading import parse
from clubsetup.quantities.units import Units
from events.rules import (
    KINDS,
    DecisionRule,
    Facts,
    Outcome,
    ParameterError,
    check_together,
    kind_of,
    rule_from,
)
from events.rules.base import RuleKind
from events.rules.sensible import format_bounds
from tests.examples import examples
from tests.rules.declared import UNITS, rules, sent

METRIC, CUSTOMARY = Units.metric(), Units.imperial()
decisions = st.sampled_from(list(DecisionRule))
thorough = settings(
    max_examples=examples(600),
    deadline=None,
    suppress_health_check=[HealthCheck.filter_too_much, HealthCheck.too_slow],
)


class TestEveryAcceptedRule:
    """Any registered kind with any parameters that it accepts."""

    @thorough
    @given(rules(), decisions, UNITS)
    def test_its_example_cars_meet_and_fail(
        self, rule: RuleKind, how: DecisionRule, units: Units
    ) -> None:
        meets = rule.check(rule.example_pass(), how, units)
        fails = rule.check(rule.example_fail(), how, units)
        assert meets.outcome is Outcome.MEETS, meets
        assert fails.outcome is Outcome.FAILS, fails

    @thorough
    @given(rules(), decisions, UNITS)
    def test_its_words_and_sentences_read(
        self, rule: RuleKind, how: DecisionRule, units: Units
    ) -> None:
        words = rule.words(units)
        assert 10 < len(words) <= 200
        assert words[0].isupper()
        assert not words.endswith(".")
        for facts in (rule.example_pass(), rule.example_fail(), Facts()):
            sentence = rule.check(facts, how, units).sentence
            assert 5 < len(sentence) <= 400
            assert sentence.endswith(".")
            assert "None" not in sentence + words
            assert "  " not in sentence + words
            assert not re.search(r"\be[-+]?\d", sentence), "no powers of ten"

    @thorough
    @given(rules(), decisions)
    def test_its_figures_are_kept(self, rule: RuleKind, how: DecisionRule) -> None:
        for facts in (rule.example_pass(), rule.example_fail()):
            figures = json.loads(json.dumps(rule.check(facts, how).evidence()))
            assert all(math.isfinite(figure) for figure in figures.values())

    @given(rules())
    def test_without_evidence_nothing_is_checked(self, rule: RuleKind) -> None:
        assert rule.check(Facts()).outcome is Outcome.NOT_CHECKED

    @given(rules())
    def test_it_comes_back_from_json(self, rule: RuleKind) -> None:
        kept = json.loads(json.dumps(rule.to_params()))
        assert rule_from(rule.kind, kept) == rule
        assert kind_of(rule.kind).declare(kept) == rule

    @given(rules())
    def test_it_cannot_stand_twice(self, rule: RuleKind) -> None:
        check_together([rule])
        with pytest.raises(ParameterError):
            check_together([rule, rule])


def refused(kind: type[RuleKind], params: dict[str, Any], units: Units) -> ParameterError | None:
    try:
        kind.declare(params, units)
    except ParameterError as refusal:
        return refusal
    return None


@pytest.mark.parametrize("kind", KINDS.values(), ids=KINDS)
@given(data=st.data(), units=UNITS)
def test_whatever_is_sent_is_a_rule_or_a_sentence(
    kind: type[RuleKind], data: st.DataObject, units: Units
) -> None:
    given_ = data.draw(sent(kind))
    refusal = refused(kind, given_, units)
    if refusal is not None:
        said = kind.refusal_text(refusal)
        assert said.startswith(kind.parameters()[refusal.parameter].label)
        assert said.endswith(".")


@pytest.mark.parametrize("kind", KINDS.values(), ids=KINDS)
@pytest.mark.parametrize("units", [CUSTOMARY, METRIC, Units(length="cm")])
def test_every_end_that_is_told_is_accepted(kind: type[RuleKind], units: Units) -> None:
    """Typed as it is told, an end lies within the bounds."""
    for parameter in kind.example().asks().values():
        if not parameter.quantity:
            continue
        ends = format_bounds(parameter, units).removeprefix("from ").split(" to ")
        for end in ends:
            value = parse(end, parameter.quantity, units=units).value
            assert parameter.bounds is not None
            assert parameter.bounds.low <= value <= parameter.bounds.high
            assert len(end) < 10


@pytest.mark.parametrize("kind", KINDS.values(), ids=KINDS)
def test_every_number_asked_for_is_bounded(kind: type[RuleKind]) -> None:
    for parameter in kind.parameters().values():
        assert (parameter.bounds is not None) == (parameter.sort in ("quantity", "whole"))


@pytest.mark.parametrize("kind", KINDS.values(), ids=KINDS)
@pytest.mark.parametrize("units", [CUSTOMARY, METRIC])
def test_the_example_a_steward_starts_from_is_accepted(kind: type[RuleKind], units: Units) -> None:
    assert kind.declare(kind.example_in(units).to_params(), units)


@pytest.mark.parametrize(
    ("kind", "params", "units", "said"),
    [
        (
            "minimum_weight", {"minimum": "0.001"}, CUSTOMARY,
            "Minimum must be from 100 lb to 1500 lb, not 0.002 lb.",
        ),
        (
            "minimum_weight", {"minimum": "10000"}, METRIC,
            "Minimum must be from 46 kg to 680 kg, not 10000 kg.",
        ),
        (
            "minimum_weight", {"minimum": "-5"}, METRIC,
            "Minimum must be from 46 kg to 680 kg, not -5 kg.",
        ),
        ("minimum_weight", {}, METRIC, "Minimum is needed."),
        ("minimum_weight", {"minimum": "heavy"}, METRIC, "Minimum must be a number, not 'heavy'."),
        ("left_limit", {"at_most": "120"}, METRIC, "Most must be from 30% to 70%, not 120%."),
        (
            "cross_limit", {"at_least": "60", "at_most": "50"}, METRIC,
            "Most must not be below least.",
        ),
        (
            "rear_limit", {"at_least": "54", "at_most": "54"}, METRIC,
            "Most must stand 0.5% or more above least: no tool tells less apart.",
        ),
        ("rear_limit", {}, METRIC, "Least is needed where the other end is left empty."),
        ("driver_age", {"at_least": 99}, METRIC, "Youngest must be from 4 to 21, not 99."),
        ("driver_age", {"at_least": 9, "at_most": 8}, METRIC, "Oldest must not be below youngest."),
        (
            "driver_weight_band", {"at_most": "200"}, METRIC,
            "Most must be from 14 kg to 136 kg, not 200 kg.",
        ),
        (
            "wheelbase_limit", {"at_least": "3"}, METRIC,
            "Least must be from 762 mm to 2540 mm, not 3 mm.",
        ),
        (
            "length_limit", {"measure": "wheelbase", "at_least": "3"}, CUSTOMARY,
            "Least must be from 30 in to 100 in, not 1/8 in.",
        ),
        (
            "tyre_limit", {"at_least": "850", "at_most": "851"}, CUSTOMARY,
            "Most must stand 1/8 in or more above least: no tool tells less apart.",
        ),
        (
            "ballast_marked", {"agree_within": "5"}, METRIC,
            "Marked and true weight agree within must be from 0.01 kg to 0.9 kg, not 5 kg.",
        ),
        (
            "ballast_largest_piece", {"at_most": "50"}, CUSTOMARY,
            "Heaviest must be from 0.5 lb to 60 lb, not 110.2 lb.",
        ),
        (
            "ballast_place", {"places": " , "}, METRIC,
            "Allowed places must name at least one place.",
        ),
        (
            "track_width_limit", {"spot": "LF", "at_most": 900}, METRIC,
            "Where must be one of front, rear.",
        ),
    ],
)  # fmt: skip
def test_what_no_class_would_ask_for(
    kind: str, params: dict[str, Any], units: Units, said: str
) -> None:
    with pytest.raises(ParameterError) as caught:
        KINDS[kind].declare(params, units)
    assert KINDS[kind].refusal_text(caught.value) == said


def test_one_year_is_a_band_of_ages() -> None:
    rule = KINDS["driver_age"].declare({"at_least": 8, "at_most": 8})
    assert rule.words().startswith("Driver aged 8 on")


def test_a_rule_that_was_kept_before_there_were_bounds_still_judges() -> None:
    """What an event froze stands; only a new declaration is refused."""
    kept = {"minimum": "10000", "with_driver": True, "stage": "any"}
    rule = rule_from("minimum_weight", kept)
    assert rule.check(rule.example_fail()).outcome is Outcome.FAILS
    with pytest.raises(ParameterError):
        rule.refuse_absurd()


def test_a_share_between_its_bounds_is_told_exactly() -> None:
    rule = KINDS["left_limit"].declare({"at_most": Decimal("58.5")})
    assert rule.words() == "Left side at most 58.5% of the weight"
