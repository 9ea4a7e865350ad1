"""A rule shown on example cars: one that meets it and one that does not."""

from dataclasses import dataclass

from clubsetup.quantities.units import Units
from events.rules import DecisionRule, RuleKind, RuleResult


@dataclass(frozen=True)
class Example:
    """What a rule says of an example car."""

    name: str
    result: RuleResult


def on_examples(rule: RuleKind, decision: str, units: Units) -> list[Example]:
    """The rule's own two example cars under it."""
    cars = [
        ("A car inside the rule", rule.example_pass()),
        ("A car outside the rule", rule.example_fail()),
    ]
    return [Example(name, rule.check(facts, DecisionRule(decision), units)) for name, facts in cars]
