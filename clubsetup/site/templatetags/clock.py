"""Days and times on pages and prints, in the zone of whoever reads; every template has them."""

from datetime import date, datetime

from django import template
from django.utils import timezone

from clubsetup.clock import writing

register = template.Library()


@register.filter(expects_localtime=True)
def day(when: date | None) -> str:
    """'5 Nov 2026'."""
    return writing.day(when) if when else ""


@register.filter(expects_localtime=True)
def short_day(when: date | None) -> str:
    """'5 Nov'."""
    return writing.short_day(when) if when else ""


@register.filter(expects_localtime=True)
def month(when: date | None) -> str:
    """'Nov 2026'."""
    return writing.month(when) if when else ""


@register.filter(expects_localtime=True)
def minute(when: datetime | None) -> str:
    """'5 Nov 2026 19:04'."""
    return writing.minute(when) if when else ""


@register.filter(expects_localtime=True)
def clock(when: datetime | None) -> str:
    """'19:04 CST'."""
    return writing.clock(when) if when else ""


@register.filter(expects_localtime=True)
def stamp(when: datetime | None) -> str:
    """'5 Nov 2026 19:04:31 CST'."""
    return writing.stamp(when) if when else ""


@register.filter(expects_localtime=True)
def second_in_zone_of(when: datetime | None, named: datetime) -> str:
    """'5 Nov 2026 19:04:31' under a heading with `{% zone_of named %}`."""
    return writing.second_in_zone_of(when, timezone.localtime(named)) if when else ""


@register.simple_tag
def zone_of(named: datetime) -> str:
    """'CST, America/Chicago': the zone that the times below are told in, named once."""
    short, name = writing.abbreviation(timezone.localtime(named)), _name()
    return name if short == name else f"{short}, {name}"


def _name() -> str:
    return str(timezone.get_current_timezone())
