"""What would make a car legal, said from its findings."""

import math
from collections.abc import Iterable
from typing import Any

from clubsetup.quantities.units import Units
from events.models import Finding
from events.queries.light_words import amount, round_up

# Of a finding that was made before its guard was kept: in standard uncertainties.
GUARD = 2.0
WORDS = {
    "left_limit": "Move weight across the car until left is within the limit, then weigh again.",
    "rear_limit": "Move weight along the car until rear is within the limit, then weigh again.",
    "cross_limit": "Turn the springs until cross is within the limit, then weigh again.",
    "ballast_marked": "Mark every piece with the driver's name or car number and its weight.",
    "ballast_largest_piece": "Replace the piece by smaller ones.",
    "ballast_place": "Move the piece to an allowed place, and have it looked at again.",
    "ballast_fixed": "Fix the piece so that it cannot come loose, and have it looked at again.",
}


def mends(findings: Iterable[Finding], units: Units) -> list[str]:
    """One line for each finding that keeps the car from being legal."""
    wrong = (f for f in findings if f.outcome in ("fails", "too_close"))
    return [line for line in (mend(f, units) for f in wrong) if line]


def mend(finding: Finding, units: Units) -> str:
    """What to do about one finding; empty where nothing can be said but its own sentence."""
    if finding.rule.kind == "minimum_weight":
        return f"Add {missing(finding, units)} of ballast, then weigh again."
    return WORDS.get(finding.rule.kind, "")


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
