"""How a rule comes to its result: who judges, what is said, and which figures are kept."""

import math
from dataclasses import dataclass, replace

from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.uncertainty import Estimate
from clubsetup.quantities.units import Units
from events.rules.decision import Decision, DecisionRule, Outcome, RuleLimits, decide
from events.rules.facts import ScaleDoubt
from events.rules.rule_text import decision_sentence


@dataclass(frozen=True, slots=True)
class RuleResult:
    """What one rule says on the facts: the outcome, a sentence, and the figures behind it.

    The figures are in canonical units and None where the rule has none, or may not show any: `dof`
    where `u` is well known, `guard` where no margin decides.
    """

    outcome: Outcome
    sentence: str
    value: float | None = None
    u: float | None = None
    dof: float | None = None
    limit: float | None = None
    margin: float | None = None
    guard: float | None = None
    probability: float | None = None

    def evidence(self) -> dict[str, float]:
        """The figures there are, for keeping as JSON."""
        names = ("value", "u", "dof", "limit", "margin", "guard", "probability")
        return {name: n for name in names if (n := getattr(self, name)) is not None}


@dataclass(frozen=True, slots=True)
class Judge:
    """How the class decides near a limit, and the units that it is told in."""

    rule: DecisionRule
    units: Units

    def decide(self, estimate: Estimate, limits: RuleLimits) -> Decision:
        """A figure against its limits, by the class's decision rule."""
        return decide(estimate, limits, self.rule)

    def figure(
        self,
        estimate: Estimate,
        limits: RuleLimits,
        kind: Kind,
        doubt: ScaleDoubt = ScaleDoubt.NONE,
    ) -> RuleResult:
        """The result of a figure against its limits, in a sentence.

        With a doubt about the scales no probability is given: `u` is what the display resolves,
        and how far the scales themselves are off is not known. The outcome is then that of scales
        that are right, by the same thresholds: what nobody knows has no width to guard with, and
        to decide nothing would send every car of a club without reference masses back. The
        sentence says that the figure is good to no better than that, and why.
        """
        decision = self.decide(estimate, limits)
        result = result_of(decision, decision_sentence(decision, kind, self.units, doubt))
        return replace(result, probability=None) if doubt else result


def not_checked(why: str) -> RuleResult:
    """A result that says what is missing."""
    return RuleResult(Outcome.NOT_CHECKED, why)


def result_of(decision: Decision, sentence: str) -> RuleResult:
    """A result that shows the figures of a decision."""
    return RuleResult(
        outcome=decision.outcome,
        sentence=sentence,
        value=decision.value,
        u=decision.u,
        dof=_finite(decision.dof),
        limit=decision.limit,
        margin=decision.margin,
        guard=_finite(decision.guard) or None,
        probability=decision.probability,
    )


def _finite(number: float) -> float | None:
    return number if math.isfinite(number) else None
