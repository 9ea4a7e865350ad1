"""How figures and outcomes of the tech desk are written on a page."""

from decimal import Decimal
from typing import Any

from django import template
from django.utils.html import format_html
from django.utils.safestring import SafeString

from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.units import Units
from clubsetup.quantities.writing import tell
from clubsetup.site.templatetags.looks import chip
from events.models import BallastPhoto, Finding
from events.queries.states import State
from events.rules.rule_text import format_apart, format_gap, good_to

register = template.Library()

SMALL_ON_PAGE = 96  # pixels, the longer side

# State of the base look and its shape.
LOOK = {
    State.MEETS: ("good", "✓"),
    State.FAILS: ("bad", "✕"),
    State.TOO_CLOSE: ("close", "≈"),
    State.NOT_CHECKED: ("none", "○"),
    State.NOT_WEIGHED: ("none", "○"),
}


@register.simple_tag
def state(value: str, size: str = "") -> SafeString:
    """A shape and a word for a state or an outcome."""
    known = State(value)
    look, shape = LOOK[known]
    return chip(f"{look} {size}".rstrip(), shape, known.words)


@register.filter
def mass(value: Decimal | None, units: Units) -> str:
    """A weight in the reader's unit."""
    return "" if value is None else str(tell(value, Kind.MASS, unit=units.mass))


@register.simple_tag
def margin(finding: Finding, units: Units) -> dict[str, Any] | None:
    """By how much a finding's figure is inside or outside, plus or minus its uncertainty.

    The '±' reads larger than the gap where it is, as the sentence under it says.
    """
    evidence = finding.evidence
    if "margin" not in evidence or not evidence.get("quantity"):
        return None
    kind = Kind(evidence["quantity"])
    amount = evidence["margin"]
    gap, within = _gap_and_doubt(abs(amount), evidence, kind, units)
    sign = "−" if amount < 0 else "+" if amount > 0 else ""
    return {
        "amount": f"{sign}{gap}",
        "u": within,
        # Without a chance the uncertainty is the display's alone.
        "at_least": "probability" not in evidence,
        "words": "outside" if amount < 0 else "inside" if amount > 0 else "on the limit",
    }


def _gap_and_doubt(
    gap: float, evidence: dict[str, Any], kind: Kind, units: Units
) -> tuple[str, str]:
    within = good_to(evidence.get("u", 0.0), evidence.get("dof"))
    if within > gap:
        return format_apart(gap, within, kind, units)
    return format_gap(gap, kind, units), format_gap(within, kind, units) if within else ""


@register.simple_tag
def small_size(photo: BallastPhoto) -> SafeString:
    """Width and height of a small photo on a page, so that nothing jumps when it comes."""
    shrunk = SMALL_ON_PAGE / max(photo.width, photo.height)
    width, height = (max(1, round(side * shrunk)) for side in (photo.width, photo.height))
    return format_html('width="{}" height="{}"', width, height)
