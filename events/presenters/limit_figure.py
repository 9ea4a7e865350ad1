"""One figure of a finding against its limit: in words, and as a strip."""

from dataclasses import dataclass
from decimal import Decimal

from clubsetup.plots.bands import Band
from clubsetup.plots.strip import WIDE, Reading, State, target_strip
from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.units import Units
from events.models import Finding
from events.rules.rule_text import (
    format_apart,
    format_figure,
    format_gap,
    format_near_limit,
    good_to,
)

STATES = {
    Finding.Outcome.MEETS: State.ON_TARGET,
    Finding.Outcome.FAILS: State.OFF,
    Finding.Outcome.TOO_CLOSE: State.TOO_CLOSE,
}
# Of the limit: how much a strip shows on its wrong side, some 4 lb of 320 lb.
ROOM = 0.0125


@dataclass(frozen=True)
class LimitFigure:
    """`figure` with its `unit`, `gap` to the limit as '1.4 lb under 320 lb', and `doubt`."""

    figure: str
    unit: str
    gap: str
    doubt: str
    strip: str

    @property
    def text(self) -> str:
        """'318.6 lb, 1.4 lb under 320 lb'."""
        return f"{self.figure}{' ' if self.unit else ''}{self.unit}, {self.gap}"


def limit_figure(finding: Finding, units: Units, *, drawn: bool = False) -> LimitFigure | None:
    """None of a finding that rests on no figure, or on one that is no quantity."""
    evidence = finding.evidence
    if not {"value", "limit", "margin"} <= evidence.keys() or not evidence.get("quantity"):
        return None
    kind, value, limit, margin = (
        Kind(evidence["quantity"]),
        evidence["value"],
        evidence["limit"],
        evidence["margin"],
    )
    figure, _, unit = format_near_limit(value, margin, kind, units).partition(" ")
    gap, within = _gap_and_doubt(finding, kind, units)
    # Limits are exact, and so written; the float beside them is of the database's JSON.
    bound = format_figure(Decimal(repr(limit)), kind, units)
    side = "over" if value > limit else "under"
    return LimitFigure(
        figure=figure,
        unit=unit,
        gap=f"{gap} {side} {bound}" if margin else f"exactly {bound}",
        doubt=within,
        strip=_strip(finding, bound, f"{figure}") if drawn else "",
    )


def _gap_and_doubt(finding: Finding, kind: Kind, units: Units) -> tuple[str, str]:
    """By how much it is inside or outside, and '± 0.2 lb', which reads larger where it is."""
    evidence = finding.evidence
    gap, within = abs(evidence["margin"]), good_to(evidence.get("u", 0.0), evidence.get("dof"))
    if within > gap:
        near, far = format_apart(gap, within, kind, units)
    else:
        near, far = format_gap(gap, kind, units), format_gap(within, kind, units) if within else ""
    if not far:
        return near, ""
    # Without a chance the uncertainty is the display's alone.
    return near, f"± {far}" if "probability" in evidence else f"at least ± {far}"


def _strip(finding: Finding, bound: str, figure: str) -> str:
    evidence = finding.evidence
    value, limit, room = evidence["value"], evidence["limit"], abs(evidence["limit"]) * ROOM
    if not room:
        return ""
    is_least = (value > limit) == (evidence["margin"] > 0)
    band = Band.at_least(limit, room=room) if is_least else Band.at_most(limit, room=room)
    reading = Reading(
        band=band,
        state=STATES[Finding.Outcome(finding.outcome)],
        value=value,
        reach=good_to(evidence.get("u", 0.0), evidence.get("dof")),
    )
    words = (f"{bound} {'least' if is_least else 'most'}", "")
    return target_strip(reading, size=WIDE, name="", words=words)
