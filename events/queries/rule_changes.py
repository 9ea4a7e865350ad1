"""What a version of a class's rules changes, in words."""

from collections.abc import Sequence
from dataclasses import dataclass

from clubsetup.quantities.units import Units
from events.models import RuleSet
from events.queries.rule_sets import rules_in
from events.rules import RuleKind
from events.rules.compare import changed


@dataclass(frozen=True)
class InWords:
    """A rule before and now; empty before where it is new, empty now where it is gone."""

    before: str
    now: str


@dataclass(frozen=True)
class RuleChanges:
    """All that differs from an earlier version."""

    earlier: RuleSet
    rules: list[InWords]
    decision: InWords | None


OFFERED = 20
LONGEST_NUMBER = 9


def earlier_versions(rule_set: RuleSet, chosen: str = "") -> list[RuleSet]:
    """The newest versions that it can be compared with, the one just before it first; and the
    chosen one, if it is older than these."""
    of_class = RuleSet.objects.filter(race_class_id=rule_set.race_class_id)
    earlier = of_class.filter(version__lt=rule_set.version).order_by("-version")
    offered = list(earlier[:OFFERED])
    if chosen in {str(one.version) for one in offered} or not _is_version(chosen):
        return offered
    return [*offered, *earlier.filter(version=int(chosen))]


def _is_version(text: str) -> bool:
    return text.isdecimal() and len(text) < LONGEST_NUMBER


def chosen_earlier(earlier: Sequence[RuleSet], version: str) -> RuleSet | None:
    """The version asked for, or else the one just before; None for a first version."""
    return next((one for one in earlier if str(one.version) == version), next(iter(earlier), None))


def changes_since(earlier: RuleSet, rule_set: RuleSet, units: Units) -> RuleChanges:
    """What somebody who knows the earlier version has to learn."""
    pairs = changed(rules_in(earlier), rules_in(rule_set))
    decision = None
    if earlier.decision != rule_set.decision:
        decision = InWords(earlier.get_decision_display(), rule_set.get_decision_display())
    return RuleChanges(
        earlier=earlier,
        rules=[InWords(_words(before, units), _words(now, units)) for before, now in pairs],
        decision=decision,
    )


def _words(rule: RuleKind | None, units: Units) -> str:
    return rule.words(units) if rule else ""
