"""What every kind of rule is: declared, spoken, checked, with an example car on either side."""

from abc import ABC, abstractmethod
from collections.abc import Mapping
from dataclasses import fields
from typing import Any, ClassVar, Self

from clubsetup.quantities.units import Units
from events.rules.decision import DecisionRule
from events.rules.facts import Facts, Where
from events.rules.judging import Judge, RuleResult
from events.rules.parameters import Parameter, ParameterError, described, read, written
from events.rules.sensible import refuse_absurd, rounded

CUSTOMARY = Units()
# In the order in which a steward meets them.
TOPICS = ("Weight", "Driver", "Measured on the car", "Ballast")


class RuleKind(ABC):
    """One rule of a class. Kinds are frozen dataclasses whose fields are their parameters.

    `kind` is what the database keeps; `title` names it in a list under its `topic`. A kind says
    `words`, `judged`, `car` and `example`; the rest follows. What makes no rule at all is refused
    when the rule is made, what no class would ask for when it is declared: ParameterError.
    """

    kind: ClassVar[str]
    title: ClassVar[str]
    topic: ClassVar[str]

    @abstractmethod
    def words(self, units: Units = CUSTOMARY) -> str:
        """The rule as one line for a page."""

    @abstractmethod
    def judged(self, facts: Facts, by: Judge) -> RuleResult:
        """What the rule says of a car; NOT_CHECKED with the reason when a fact is missing."""

    @abstractmethod
    def car(self, *, inside: bool) -> Facts:
        """An example car that nobody would doubt to be inside this rule, or outside it."""

    @classmethod
    @abstractmethod
    def example(cls) -> Self:
        """A rule of this kind with likely parameters."""

    def check(
        self,
        facts: Facts,
        rule: DecisionRule = DecisionRule.READING,
        units: Units = CUSTOMARY,
    ) -> RuleResult:
        """What the rule says of a car, decided by `rule`, in the reader's units."""
        return self.judged(facts, Judge(rule, units))

    def example_pass(self) -> Facts:
        """A car that meets this rule."""
        return self.car(inside=True)

    def example_fail(self) -> Facts:
        """A car that fails this rule."""
        return self.car(inside=False)

    @classmethod
    def example_in(cls, units: Units) -> Self:
        """The example with figures that are round in the reader's units."""
        return rounded(cls.example(), units)

    def renewed(self, units: Units = CUSTOMARY) -> Self:
        """The rule as the next version begins with it: as it is, but for what it should have."""
        return self

    def about(self) -> tuple[object, ...]:
        """What tells it from its like: two of a kind about the same cannot stand together."""
        return ()

    def reads(self) -> Where | None:
        """The measure and spot that an official must read for it, the spot empty for each."""
        return None

    @classmethod
    def parameters(cls) -> dict[str, Parameter]:
        """What a form must ask for, in order."""
        return {one.name: described(one) for one in _fields(cls)}

    def asks(self) -> dict[str, Parameter]:
        """As `parameters`, where one parameter bounds another."""
        return self.parameters()

    @classmethod
    def from_params(cls, given: Mapping[str, object]) -> Self:
        """The rule that a row keeps, however absurd. Raises ParameterError naming the parameter."""
        return cls(**read(_fields(cls), given))

    @classmethod
    def declare(cls, given: Mapping[str, object], units: Units = CUSTOMARY) -> Self:
        """A new rule, refused where no class would ask for it.

        Raises ParameterError naming the parameter, its problem told in `units`.
        """
        rule = cls.from_params(given)
        rule.refuse_absurd(units)
        return rule

    def refuse_absurd(self, units: Units = CUSTOMARY) -> None:
        """Raises ParameterError for a parameter outside its bounds."""
        values = {name: getattr(self, name) for name in self.parameters()}
        refuse_absurd(self.asks(), values, units)

    def to_params(self) -> dict[str, object]:
        """The parameters as a JSON object, those that are not set left out."""
        values = {one.name: getattr(self, one.name) for one in _fields(type(self))}
        return {name: written(value) for name, value in values.items() if value is not None}

    @classmethod
    def refusal_text(cls, refusal: ParameterError) -> str:
        """A refusal as a sentence that names the parameter as the form does."""
        if refusal.parameter == "kind":
            return f"{refusal.problem}."
        known = cls.parameters().get(refusal.parameter)
        name = known.label if known else refusal.parameter.capitalize()
        return f"{name} {refusal.problem}."


def refuse_backward(rule: Any) -> None:
    """Refuse a band of `at_least` and `at_most` that is empty or not there, by ParameterError."""
    low, high = rule.at_least, rule.at_most
    if low is None and high is None:
        raise ParameterError("at_least", "is needed where the other end is left empty")
    if low is not None and high is not None and low > high:
        least = rule.parameters()["at_least"].label.lower()
        raise ParameterError("at_most", f"must not be below {least}")


def _fields(cls: type[Any]) -> tuple[Any, ...]:
    return fields(cls)
