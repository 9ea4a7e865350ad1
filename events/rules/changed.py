"""What is left of a verdict when the car has changed since it was weighed."""

from dataclasses import dataclass

from events.rules.decision import Outcome
from events.rules.judging import RuleResult


@dataclass(frozen=True, slots=True)
class WeighAgain(RuleResult):
    """Not checked, because what was weighed is not the car of now."""


def unless_changed(result: RuleResult, changed: str) -> RuleResult:
    """The result, but for 'meets' of a car whose mass has changed since: weigh again.

    `changed` says what changed, empty where nothing did. A car that failed goes on failing, and
    one too close to call stays so, until it is weighed again: only 'meets' is taken away.
    """
    if not changed or result.outcome is not Outcome.MEETS:
        return result
    return WeighAgain(Outcome.NOT_CHECKED, f"Weigh again: since it was weighed, {changed}.")
