"""A rule shown on example cars: one that meets it and one that does not."""

from dataclasses import dataclass, replace
from typing import Any

from clubsetup.quantities.uncertainty import Estimate
from clubsetup.quantities.units import Units
from events.rules import DecisionRule, Facts, RuleKind, RuleResult, Stage

# The fact that a kind's limit is about, where the example can be moved to any limit.
ABOUT = {
    "minimum_weight": "weight",
    "left_limit": "left",
    "rear_limit": "rear",
    "cross_limit": "cross",
    "driver_weight_band": "driver_weight",
}

# Standard uncertainties away from a limit at which nobody doubts the outcome.
CLEAR = 5.0


@dataclass(frozen=True)
class Example:
    """What a rule says of an example car."""

    name: str
    result: RuleResult


def on_examples(rule: RuleKind, decision: str, units: Units) -> list[Example]:
    """The kind's two example cars, moved to this rule's own limit, under the rule."""
    kind = type(rule)
    cars = [
        ("A car inside the rule", _moved(rule, kind.example_pass(), inside=True)),
        ("A car outside the rule", _moved(rule, kind.example_fail(), inside=False)),
    ]
    return [Example(name, rule.check(facts, DecisionRule(decision), units)) for name, facts in cars]


def _moved(rule: RuleKind, facts: Facts, *, inside: bool) -> Facts:
    """The example car, as far inside or outside the limit as leaves no doubt."""
    about = ABOUT.get(rule.kind)
    if about is None:
        return facts
    declared: Any = rule
    estimate: Estimate = getattr(facts, about)
    changed: dict[str, Any] = {
        about: replace(estimate, value=_clear_of(declared, CLEAR * estimate.u, inside=inside))
    }
    if about == "weight":
        changed["driver_in"] = declared.with_driver
        changed["stage"] = facts.stage if declared.stage == "any" else Stage(declared.stage)
    return replace(facts, **changed)


def _clear_of(declared: Any, gap: float, *, inside: bool) -> float:
    """A value inside the limits, in the middle of two, or outside the first one there is."""
    lower = getattr(declared, "minimum", None) or getattr(declared, "at_least", None)
    upper: Any = getattr(declared, "at_most", None)
    if inside and lower is not None and upper is not None:
        return float(lower + upper) / 2.0
    if lower is not None:
        return float(lower) + (gap if inside else -gap)
    return float(upper) - (gap if inside else -gap)
