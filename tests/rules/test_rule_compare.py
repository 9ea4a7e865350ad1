"""What changed between two versions of a class's rules."""

from hypothesis import given
from hypothesis import strategies as st

from events.rules import rule_from
from events.rules.base import RuleKind
from events.rules.compare import ChangedRule, changed
from tests.rules.declared import rules

LEFT = rule_from("left_limit", {"at_most": 58})
LEFT_NOW = rule_from("left_limit", {"at_most": 57})
ENTRY = rule_from("minimum_weight", {"minimum": 150, "stage": "entry"})
AFTER = rule_from("minimum_weight", {"minimum": 150, "stage": "after"})
ENTRY_NOW = rule_from("minimum_weight", {"minimum": 152, "stage": "entry"})
FIXED = rule_from("ballast_fixed", {})


def test_nothing() -> None:
    assert changed([LEFT, FIXED], [FIXED, LEFT]) == []


def test_new_gone_and_changed() -> None:
    assert changed([LEFT, FIXED], [LEFT_NOW, ENTRY]) == [
        ChangedRule(LEFT, LEFT_NOW), ChangedRule(None, ENTRY), ChangedRule(FIXED, None),
    ]  # fmt: skip


def test_a_rule_is_followed_by_what_it_is_about() -> None:
    assert changed([ENTRY, AFTER], [AFTER, ENTRY_NOW]) == [ChangedRule(ENTRY, ENTRY_NOW)]


def test_a_rule_about_something_else_now_is_a_changed_one() -> None:
    assert changed([ENTRY], [AFTER]) == [ChangedRule(ENTRY, AFTER)]


@given(st.lists(rules(), max_size=5), st.lists(rules(), max_size=5))
def test_every_rule_of_either_is_the_same_or_told_once(
    before: list[RuleKind], now: list[RuleKind]
) -> None:
    told = changed(before, now)
    unmatched_before, right = list(before), list(now)
    for one in told:
        assert one.before != one.now
        if one.before:
            unmatched_before.remove(one.before)
        if one.now:
            right.remove(one.now)
    for rule in unmatched_before:
        right.remove(rule)  # equal: 12.7000 mm is 12.7 mm, though it is not written so
    assert not right
    assert changed(before, before) == []
