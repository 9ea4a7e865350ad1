"""How figures and outcomes of the tech desk are written on a page."""

from decimal import Decimal

from django import template
from django.utils.html import format_html
from django.utils.safestring import SafeString

from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.units import Units
from clubsetup.quantities.writing import tell
from clubsetup.site.marks import mark
from clubsetup.site.templatetags.looks import chip
from events.models import BallastPhoto
from events.queries.states import State

register = template.Library()

SMALL_ON_PAGE = 96  # pixels, the longer side

# State of the base look and its shape.
LOOK = {
    State.MEETS: ("meets", "✓"),
    State.FAILS: ("bad", "✕"),
    State.TOO_CLOSE: ("close", "≈"),
    State.NOT_CHECKED: ("none", "○"),
    State.NOT_WEIGHED: ("none", "○"),
}


@register.simple_tag
def state(value: str, why: str = "") -> SafeString:
    """A shape and a word for a state or an outcome; `why` follows the word after a comma."""
    known = State(value)
    look, shape = LOOK[known]
    return chip(look, shape, f"{known.words}, {why}" if why else known.words)


@register.simple_tag
def state_mark(value: str) -> SafeString:
    """The shape alone, where the word stands beside it."""
    return mark(LOOK[State(value)][1])


@register.filter
def mass(value: Decimal | None, units: Units) -> str:
    """A weight in the reader's unit."""
    return "" if value is None else str(tell(value, Kind.MASS, unit=units.mass))


@register.simple_tag
def small_size(photo: BallastPhoto) -> SafeString:
    """Width and height of a small photo on a page, so that nothing jumps when it comes."""
    shrunk = SMALL_ON_PAGE / max(photo.width, photo.height)
    width, height = (max(1, round(side * shrunk)) for side in (photo.width, photo.height))
    return format_html('width="{}" height="{}"', width, height)
