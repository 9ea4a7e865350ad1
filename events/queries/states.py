"""Where an entry stands at the desk."""

from collections.abc import Sequence
from enum import StrEnum

from events.models import Finding

Outcome = Finding.Outcome


class State(StrEnum):
    """One word for all that was found of an entry."""

    NOT_WEIGHED = "not_weighed"
    MEETS = "meets"
    FAILS = "fails"
    TOO_CLOSE = "too_close"
    NOT_CHECKED = "not_checked"

    @property
    def words(self) -> str:
        """As the page says it."""
        if self is State.NOT_WEIGHED:
            return "Not weighed"
        return str(Outcome(self.value).label)


def state_of(findings: Sequence[Finding]) -> State:
    """From the findings that stand: one that fails decides, then one too close to call; then
    whether anything was weighed, then whether anything is left to check."""
    outcomes = {f.outcome for f in findings}
    for outcome in (Outcome.FAILS, Outcome.TOO_CLOSE):
        if outcome in outcomes:
            return State(outcome.value)
    # What is said of the driver's age rests on no weighing.
    if all(f.weigh_in_id is None for f in findings):
        return State.NOT_WEIGHED
    return State.NOT_CHECKED if Outcome.NOT_CHECKED in outcomes else State.MEETS
