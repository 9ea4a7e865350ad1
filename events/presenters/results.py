"""What a team's own entries came to."""

from collections.abc import Collection
from dataclasses import dataclass

from clubsetup.quantities.units import Units
from events.models import Entry, Finding
from events.presenters.remedies import remedies
from events.queries.desk import standing_findings
from events.queries.states import State, state_of


@dataclass(frozen=True)
class Result:
    """One entry, where it stands, and what would make it legal."""

    entry: Entry
    state: State
    findings: list[Finding]
    remedies: list[str]


def results_of(entries: Collection[Entry], units: Units) -> list[Result]:
    """What each of these entries came to: a fixed number of queries."""
    findings = standing_findings(entries)
    return [
        Result(
            entry=entry,
            state=state_of(findings[entry.pk]),
            findings=findings[entry.pk],
            remedies=remedies(findings[entry.pk], units),
        )
        for entry in entries
    ]
