"""A requirement with parts (every piece, four heights, both sides): some of them are not all."""

from dataclasses import replace

from events.rules.decision import Outcome
from events.rules.judging import RuleResult, not_checked


def counted(result: RuleResult, seen: int, of: int, done: str) -> RuleResult:
    """What the parts seen come to, once it is said how many of all the parts they are.

    With a part missing nothing is met: 'meets' becomes 'not checked'. What fails or is too close
    to call already stays so, and says the count too. `done` ends the count: '1 of 2 looked at.'
    """
    if seen >= of:
        return result
    count = f"{seen} of {of} {done}."
    if result.outcome is Outcome.MEETS:
        return not_checked(count)
    return replace(result, sentence=f"{result.sentence} {count}")
