"""What a car at the desk comes to, said before any detail: its weight, and what is left to do."""

from collections.abc import Sequence
from dataclasses import dataclass

from clubsetup.quantities.units import Units
from events.models import Finding
from events.presenters.limit_figure import STATES, LimitFigure, limit_figure
from events.queries.record import EntryRecord
from events.queries.states import State

# What four pads or a total say; the first is the car's weight.
WEIGHTS = ("minimum_weight", "left_limit", "rear_limit", "cross_limit", "driver_weight_band")
NAMES = {"left_limit": "left side", "rear_limit": "rear", "cross_limit": "cross"}
POINTS = {
    State.MEETS: "Meets",
    State.FAILS: "Fails",
    State.TOO_CLOSE: "Too close to call",
    # However much of it meets: the whole is no better than what nobody looked at.
    State.NOT_CHECKED: "Not decided",
    State.NOT_WEIGHED: "Not weighed",
}


@dataclass(frozen=True)
class WeightLine:
    """What the scales say of one rule, over everything else: large, with its strip."""

    finding: Finding
    name: str
    figure: LimitFigure

    @property
    def is_weight(self) -> bool:
        """Whether it is of the whole car, not of a share of it."""
        return self.finding.rule.kind == "minimum_weight"


@dataclass(frozen=True)
class Verdict:
    """`point` is the word that decides, `says` the rest of the sentence."""

    state: State
    point: str
    says: str


@dataclass(frozen=True)
class DeskFindings:
    """What was found of one car, in the order in which it is read at the scales.

    `weights`: the figures of the scales; `wrong`: what else fails or is too close; `unchecked`:
    what nobody could decide yet; `met`: all that meets, with its whole sentence.
    """

    verdict: Verdict
    weights: list[WeightLine]
    wrong: list[Finding]
    unchecked: list[Finding]
    met: list[Finding]


def desk_findings(record: EntryRecord, units: Units) -> DeskFindings:
    """The findings that stand, laid out for the one who decides."""
    weights = _weight_lines(record.judged, units)
    shown = {line.finding.pk for line in weights}
    return DeskFindings(
        verdict=verdict(record, units),
        weights=weights,
        wrong=[f for f in record.judged if f.outcome != "meets" and f.pk not in shown],
        unchecked=record.unchecked,
        met=[f for f in record.judged if f.outcome == "meets"],
    )


def _weight_lines(findings: Sequence[Finding], units: Units) -> list[WeightLine]:
    lines = [
        WeightLine(finding, *found)
        for finding in findings
        if (found := figure_of(finding, units, drawn=True))
    ]
    return sorted(lines, key=lambda line: WEIGHTS.index(line.finding.rule.kind))


def verdict(record: EntryRecord, units: Units) -> Verdict:
    """One sentence: what it is, by which figure, and what is left to do."""
    state = record.state
    why = _why(record.standing, state, units)
    parts = [*why, *_left_to_do(record)] or ["every rule"] * (state is State.MEETS)
    return Verdict(state, POINTS[state], "; ".join(parts))


def _why(findings: Sequence[Finding], state: State, units: Units) -> list[str]:
    """What decides it; where nothing is wrong, what the car weighs."""
    if state in (State.FAILS, State.TOO_CLOSE):
        return [reason(f, units) for f in findings if f.outcome == state.value]
    return [
        reason(f, units)
        for f in findings
        if f.rule.kind == "minimum_weight" and f.outcome == "meets"
    ]


def reason(finding: Finding, units: Units) -> str:
    """'318.6 lb, 1.4 lb under 320 lb', or the finding's own words where there is no figure."""
    found = figure_of(finding, units)
    if found is None:
        return finding.sentence.rstrip(".")
    name, figure = found
    return f"{name} {figure.text}".lstrip()


def figure_of(
    finding: Finding, units: Units, *, drawn: bool = False
) -> tuple[str, LimitFigure] | None:
    """What the scales say of it, with the name of its share; None where they do not decide it."""
    if finding.rule.kind not in WEIGHTS or finding.outcome not in STATES:
        return None
    figure = limit_figure(finding, units, drawn=drawn)
    return (NAMES.get(finding.rule.kind, ""), figure) if figure else None


def _left_to_do(record: EntryRecord) -> list[str]:
    """How many rules nobody could decide, and how much of the ballast has been looked at."""
    if not record.unchecked:
        return []
    count = len(record.unchecked)
    left = f"{count} rule{'' if count == 1 else 's'} not checked"
    unseen, seen = len(record.ballast.unseen), len(record.ballast.looks)
    pieces = f", {seen} of {seen + unseen} pieces of ballast looked at" if unseen else ""
    return [left + pieces]
