"""What every kind of rule is: declared, spoken, checked, with an example car on either side."""

from abc import ABC, abstractmethod
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, fields, replace
from typing import Any, ClassVar, Self, TypeVar

from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.uncertainty import Estimate
from clubsetup.quantities.units import Units
from events.rules.decision import Decision, DecisionRule, Limits, Outcome, decide
from events.rules.facts import Facts, ScaleDoubt
from events.rules.parameters import Parameter, ParameterError, described, read, written
from events.rules.speech import say_decision

CUSTOMARY = Units()


class UnknownRuleKind(LookupError):
    """No rule of this kind is known here."""

    def __init__(self, kind: str) -> None:
        super().__init__(f"no rule of kind {kind!r}")
        self.kind = kind


@dataclass(frozen=True, slots=True)
class RuleResult:
    """What one rule says on the facts: the outcome, a sentence, and the figures behind it.

    The figures are in canonical units and None where the rule has none, or may not show any.
    """

    outcome: Outcome
    sentence: str
    value: float | None = None
    u: float | None = None
    limit: float | None = None
    margin: float | None = None
    probability: float | None = None

    def evidence(self) -> dict[str, float]:
        """The figures there are, for keeping as JSON."""
        names = ("value", "u", "limit", "margin", "probability")
        return {name: n for name in names if (n := getattr(self, name)) is not None}


class RuleKind(ABC):
    """One rule of a class. Kinds are frozen dataclasses whose fields are their parameters.

    `kind` is what the database keeps; `title` names it in a list. A `once` kind may stand only
    once in a set of rules. Parameters are checked when the rule is made: ParameterError.
    """

    kind: ClassVar[str]
    title: ClassVar[str]
    once: ClassVar[bool] = False

    @abstractmethod
    def words(self, units: Units = CUSTOMARY) -> str:
        """The rule as one line for a page."""

    @abstractmethod
    def check(
        self,
        facts: Facts,
        rule: DecisionRule = DecisionRule.READING,
        units: Units = CUSTOMARY,
    ) -> RuleResult:
        """What the rule says of a car; NOT_CHECKED with the reason when a fact is missing."""

    @classmethod
    @abstractmethod
    def example(cls) -> Self:
        """A rule of this kind with likely parameters."""

    @classmethod
    @abstractmethod
    def example_pass(cls) -> Facts:
        """A car that meets `example()`."""

    @classmethod
    @abstractmethod
    def example_fail(cls) -> Facts:
        """A car that fails `example()`."""

    @classmethod
    def parameters(cls) -> dict[str, Parameter]:
        """What a form must ask for, in order."""
        return {one.name: described(one) for one in _fields(cls)}

    @classmethod
    def from_params(cls, given: Mapping[str, object]) -> Self:
        """The rule from a JSON object. Raises ParameterError naming the parameter."""
        return cls(**read(_fields(cls), given))

    def to_params(self) -> dict[str, object]:
        """The parameters as a JSON object, those that are not set left out."""
        values = {one.name: getattr(self, one.name) for one in _fields(type(self))}
        return {name: written(value) for name, value in values.items() if value is not None}


KINDS: dict[str, type[RuleKind]] = {}
K = TypeVar("K", bound=RuleKind)


def register(cls: type[K]) -> type[K]:
    """Make a kind known under its `kind`."""
    if cls.kind in KINDS:
        raise ValueError(f"two kinds of rule are called {cls.kind}")
    KINDS[cls.kind] = cls
    return cls


def rule_from(kind: str, params: Mapping[str, object]) -> RuleKind:
    """The rule that a row in the database declares. Raises UnknownRuleKind, ParameterError."""
    if kind not in KINDS:
        raise UnknownRuleKind(kind)
    return KINDS[kind].from_params(params)


def check_together(rules: Iterable[RuleKind]) -> None:
    """Refuse a set of rules that cannot stand together. Raises ParameterError on `kind`."""
    seen: set[str] = set()
    for one in rules:
        if one.once and one.kind in seen:
            raise ParameterError("kind", f"{one.title.lower()} can stand only once in a class")
        seen.add(one.kind)


def not_checked(why: str) -> RuleResult:
    """A result that says what is missing."""
    return RuleResult(Outcome.NOT_CHECKED, why)


def judged(
    estimate: Estimate,
    limits: Limits,
    rule: DecisionRule,
    kind: Kind,
    units: Units,
    *,
    doubt: ScaleDoubt = ScaleDoubt.NONE,
) -> RuleResult:
    """The result of a figure against its limits, in a sentence.

    With a doubt about the scales no probability is given: `u` is what the display resolves, and
    how far the scales themselves are off is not known.
    """
    decision = decide(estimate, limits, rule)
    result = result_of(decision, say_decision(decision, kind, units, doubt))
    return replace(result, probability=None) if doubt else result


def result_of(decision: Decision, sentence: str) -> RuleResult:
    """A result that shows the figures of a decision."""
    return RuleResult(
        outcome=decision.outcome,
        sentence=sentence,
        value=decision.value,
        u=decision.u,
        limit=decision.limit,
        margin=decision.margin,
        probability=decision.probability,
    )


def limits_of(low: Any, high: Any) -> Limits:
    """Limits from the exact parameters of a rule."""
    return Limits(None if low is None else float(low), None if high is None else float(high))


def _fields(cls: type[Any]) -> tuple[Any, ...]:
    return fields(cls)
