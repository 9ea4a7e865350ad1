"""What would make a car legal, said from its findings."""

import math
from collections.abc import Iterable
from typing import Any

from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.units import Units
from events.models import Finding
from events.presenters.mass_text import amount, round_up
from events.rules.facts import Stage
from events.rules.rule_text import format_gap

# Of a finding that was made before its guard was kept: in standard uncertainties.
GUARD = 2.0
WORDS = {
    "left_limit": "Move weight across the car until the left side is within the limit, "
    "then weigh again.",
    "rear_limit": "Move weight along the car until rear is within the limit, then weigh again.",
    "cross_limit": "Turn the springs until cross is within the limit, then weigh again.",
    "ballast_marked": "Mark every piece with the driver's name or car number and its weight.",
    "ballast_largest_piece": "Replace the piece by smaller ones.",
    "ballast_place": "Move the piece to an allowed place, and have it looked at again.",
    "ballast_fixed": "Fix the piece so that it cannot come loose, and have it looked at again.",
}
BY_SCALES = ("minimum_weight", "left_limit", "rear_limit", "cross_limit", "driver_weight_band")
# What would have been done about each before the race.
REMEDIES = {
    "minimum_weight": "Adding weight",
    "left_limit": "Moving weight",
    "rear_limit": "Moving weight",
    "cross_limit": "Turning the springs",
}
DECIDE = "the club's appointed officials decide"


def remedies(findings: Iterable[Finding], units: Units) -> list[str]:
    """One line for each finding that keeps the car from being legal, each line once."""
    wrong = (f for f in findings if f.outcome in ("fails", "too_close") or _must_weigh_again(f))
    return list(dict.fromkeys(line for line in (remedy(f, units) for f in wrong) if line))


def remedy(finding: Finding, units: Units) -> str:
    """What to do about one finding; empty where nothing can be said but its own sentence."""
    kind = finding.rule.kind
    if kind in REMEDIES and _is_after_race(finding):
        return _after_race(finding, units)
    if _must_weigh_again(finding):
        return f"Weigh it again: since it was weighed, {finding.evidence['changed']}."
    if kind == "minimum_weight":
        return f"Add {missing(finding, units)} of ballast, then weigh again."
    return WORDS.get(kind, "")


def missing(finding: Finding, units: Units) -> str:
    """How much a weight lacks, rounded up to a tenth so that adding it is enough.

    lack = limit - value, plus the guard where the rules decide with one (JCGM 106:2012, 8.3.2).
    """
    lack = -finding.evidence["margin"] + _guard(finding.evidence)
    return amount(round_up(lack, units), units)


def _guard(evidence: dict[str, Any]) -> float:
    """What the next weighing, one by itself, must clear the limit by: a mean of n is surer by
    sqrt(n)."""
    if evidence.get("decision") != "guarded":
        return 0.0
    guard: float = evidence.get("guard", GUARD * evidence["u"])
    return guard * math.sqrt(len(evidence["weigh_ins"]))


def _must_weigh_again(finding: Finding) -> bool:
    return finding.rule.kind in BY_SCALES and bool(finding.evidence.get("changed"))


def _is_after_race(finding: Finding) -> bool:
    evidence = finding.evidence
    return bool(evidence.get("after_race")) or evidence.get("stage") == Stage.AFTER


def _after_race(finding: Finding, units: Units) -> str:
    """Of a car that has raced: how far it is out, that nothing done now mends it, who decides."""
    remedy = f"{REMEDIES[finding.rule.kind]} now does not mend it: {DECIDE}."
    if finding.outcome == Finding.Outcome.FAILS:
        return f"{_out_by(finding, units)} {remedy}"
    if finding.outcome == Finding.Outcome.TOO_CLOSE:
        return f"Too close to call: weigh it again as it is, nothing changed. {remedy}"
    return f"It was not weighed again before the race: {DECIDE}."


def _out_by(finding: Finding, units: Units) -> str:
    evidence = finding.evidence
    when = "after the race" if evidence.get("stage") == Stage.AFTER else "before the race"
    if finding.rule.kind == "minimum_weight":
        return f"{format_gap(-evidence['margin'], Kind.MASS, units)} light {when}."
    share = finding.rule.kind.removesuffix("_limit").capitalize()
    return f"{share} outside the limit {when}."
