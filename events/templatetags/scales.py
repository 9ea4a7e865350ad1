"""How the state of the scales is said on a page: red words with a shape where it must be seen."""

from decimal import Decimal
from typing import Any

from django import template
from django.template import Context
from django.utils import timezone
from django.utils.safestring import SafeString

from clubsetup.access.errors import is_allowed
from clubsetup.clock.writing import clock
from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.units import Units
from clubsetup.quantities.writing import show
from clubsetup.site.templatetags.looks import chip
from events.models import ScaleSet, WeighIn
from events.queries.scales import HOLDS, ScaleState, Standing, scale_states, standing_check
from teams.models import Club
from teams.permissions import check_can_officiate

register = template.Library()

LOOK = {
    Standing.PASSED: ("good", "✓", "checked, passed"),
    Standing.FAILED: ("bad", "✕", "failed its check"),
    Standing.UNCHECKED: ("bad", "✕", "not checked today"),
}
PLACES = 3


@register.inclusion_tag("events/bits/scale_warnings.html", takes_context=True)
def scale_warnings(context: Context, club: Club) -> dict[str, Any]:
    """Every set of the club that nobody should weigh on as it stands; nothing where all is well."""
    states = scale_states(club.pk)
    return {
        "wrong": [state for state in states if state.standing is not Standing.PASSED],
        "none": not states,
        "club": club,
        "can_check": is_allowed(check_can_officiate, context["user"], club),
    }


@register.simple_tag
def scale_state(scale_set: ScaleSet) -> SafeString:
    """Where a set stands now, as a shape and words."""
    return chip(*LOOK[ScaleState(scale_set, standing_check(scale_set)).standing])


@register.simple_tag
def check_state(passed: bool) -> SafeString:
    return chip(*LOOK[Standing.PASSED if passed else Standing.FAILED])


@register.simple_tag
def load_state(within: bool) -> SafeString:
    """What one load of a check came to."""
    look, shape, _ = LOOK[Standing.PASSED if within else Standing.FAILED]
    return chip(look, shape, "within" if within else "too far off")


@register.filter
def kilograms(text: str | None, units: Units) -> str:
    """A mass kept as text, in the reader's unit, to a thousandth."""
    if text is None:
        return ""
    shown = show(Decimal(text), Kind.MASS, unit=units.mass, style="decimal", places=PLACES)
    return shown.pretty


@register.filter
def signed(text: str | None, units: Units) -> str:
    """The same with its sign, for an error or a correction."""
    if text is None:
        return ""
    value = Decimal(text)
    shown = show(value, Kind.MASS, unit=units.mass, style="decimal", places=PLACES, sign=True)
    return shown.pretty


@register.filter
def rests_on(weigh_in: WeighIn, units: Units) -> str:
    """What the scales' check says of a weighing: '✓ checked 07:42 CST, correction ...'."""
    check = weigh_in.scale_check
    if check is None:
        return "✕ scales not checked that day"
    when = clock(timezone.localtime(check.created_at))
    if not check.passed:
        return f"✕ scales failed their check of {when}"
    if weigh_in.correction is None or weigh_in.u_correction is None:
        return f"✓ scales checked {when}"
    how = "counted in" if weigh_in.corrected else "not counted in"
    plus = signed(str(weigh_in.correction), units)
    doubt = kilograms(str(2 * weigh_in.u_correction), units)
    return f"✓ scales checked {when}, correction {plus} ± {doubt} {how}"


@register.simple_tag
def hours_held() -> int:
    """How long a check stands."""
    return int(HOLDS.total_seconds() // 3600)


@register.simple_tag
def correction_of(load: dict[str, Any], units: Units) -> str:
    """What to add to this pad, and twice its standard uncertainty."""
    plus = signed(str(-Decimal(load["error"])), units)
    return f"{plus} ± {kilograms(str(2 * Decimal(load['u'])), units)}"
