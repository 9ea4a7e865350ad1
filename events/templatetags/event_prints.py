"""How figures and outcomes are written on paper: no colour, a shape and a word."""

from base64 import b64encode
from decimal import Decimal

from django import template
from django.utils.html import format_html
from django.utils.safestring import SafeString

from clubsetup.quantities.kinds import Kind
from clubsetup.quantities.units import Units
from clubsetup.quantities.writing import show
from clubsetup.site.marks import OF_SIGN, mark
from events.models import BallastPhoto
from events.queries.states import State
from events.queries.weighings import Weighed
from events.templatetags.tech import LOOK

register = template.Library()

PLACES = 2
GROUP = 8


@register.simple_tag
def printed_state(value: str) -> SafeString:
    """A shape and a word for a state or an outcome."""
    state = State(value)
    return format_html("{} {}", mark(LOOK[state][1]), state.words)


@register.filter
def sign_drawn(said: str) -> SafeString:
    """What begins with the sign of a state ('✓ scales checked'), its mark in place of it."""
    sign, words = said[:1], said[1:]
    return format_html("{}{}", mark(sign), words) if sign in OF_SIGN else format_html("{}", said)


@register.filter
def weighed_total(one: Weighed, units: Units) -> str:
    """What several weighings say together, to a hundredth."""
    value = Decimal(repr(round(one.total.value, 9)))
    exact = show(value, Kind.MASS, unit=units.mass, style="decimal")
    if exact.exact and len(exact.bare) <= 6:
        return exact.pretty
    return show(value, Kind.MASS, unit=units.mass, style="decimal", places=PLACES).pretty


@register.filter
def in_groups(digits: str) -> str:
    """Long digits in groups of eight, for reading aloud."""
    return " ".join(digits[n : n + GROUP] for n in range(0, len(digits), GROUP))


@register.filter
def small_data(photo: BallastPhoto) -> str:
    """The small photo as an address that holds it."""
    return f"data:image/jpeg;base64,{b64encode(photo.small).decode()}"
