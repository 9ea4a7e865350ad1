"""Whether it is an event's day, by its club's wall clock."""

from datetime import date

from django.utils import timezone

from clubsetup.clock.writing import day
from events.models import Event


def today_at(event: Event) -> date:
    """The day it is where the event's club is."""
    return timezone.localdate(timezone=event.club.zone())


def another_day(event: Event) -> str:
    """Where today is none of the event's days: both days and how far apart; else empty."""
    today = today_at(event)
    if today < event.starts_on:
        return (
            f"Today is {day(today)}. {event} begins on {day(event.starts_on)}, "
            f"in {_days((event.starts_on - today).days)}."
        )
    if today > event.ends_on:
        return (
            f"Today is {day(today)}. The last day of {event} was {day(event.ends_on)}, "
            f"{_days((today - event.ends_on).days)} ago."
        )
    return ""


def before_its_end(event: Event) -> str:
    """Where the event's last day is still to come, a sentence that says so; else empty."""
    today = today_at(event)
    if today >= event.ends_on:
        return ""
    return f"Today is {day(today)}. The last day of {event} is {day(event.ends_on)}."


def _days(count: int) -> str:
    return "1 day" if count == 1 else f"{count} days"
