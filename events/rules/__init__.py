"""The rules of a class and how a car is judged by them. Pure Python: no database, no I/O.

`rule_from(kind, params)` makes the rule that a row declares; its `words()` stand on the page and
its `check(facts)` gives the outcome, the sentence and the evidence. `KINDS` lists every kind.
"""

from events.rules import ballast, driver, measured, weight  # noqa: F401 - they register their kinds
from events.rules.base import (
    KINDS,
    RuleKind,
    RuleResult,
    UnknownRuleKind,
    check_together,
    rule_from,
)
from events.rules.decision import Decision, DecisionRule, LimitError, Limits, Outcome, decide
from events.rules.facts import Facts, PieceSeen, ScaleDoubt, Stage, Where
from events.rules.parameters import Parameter, ParameterError

__all__ = [
    "KINDS",
    "Decision",
    "DecisionRule",
    "Facts",
    "LimitError",
    "Limits",
    "Outcome",
    "Parameter",
    "ParameterError",
    "PieceSeen",
    "RuleKind",
    "RuleResult",
    "ScaleDoubt",
    "Stage",
    "UnknownRuleKind",
    "Where",
    "check_together",
    "decide",
    "rule_from",
]
