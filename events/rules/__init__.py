"""The rules of a class and how a car is judged by them. Pure Python: no database, no I/O.

`kind_of(kind).declare(params)` makes a new rule and refuses what no class would ask for;
`rule_from(kind, params)` makes the one that a row keeps. Its `words()` stand on the page and its
`check(facts)` gives the outcome, the sentence and the evidence. `KINDS` lists every kind.
"""

from events.rules.base import TOPICS, RuleKind
from events.rules.decision import Decision, DecisionRule, LimitError, Outcome, RuleLimits, decide
from events.rules.facts import Facts, PieceSeen, ScaleDoubt, Stage, Where
from events.rules.judging import RuleResult
from events.rules.kinds import KINDS, UnknownRuleKind, check_together, kind_of, rule_from
from events.rules.parameters import Parameter, ParameterError

__all__ = [
    "KINDS",
    "TOPICS",
    "Decision",
    "DecisionRule",
    "Facts",
    "LimitError",
    "Outcome",
    "Parameter",
    "ParameterError",
    "PieceSeen",
    "RuleKind",
    "RuleLimits",
    "RuleResult",
    "ScaleDoubt",
    "Stage",
    "UnknownRuleKind",
    "Where",
    "check_together",
    "decide",
    "kind_of",
    "rule_from",
]
