"""The device's clock on a record made without connection: it stands beside the server's."""

from datetime import datetime, time, timedelta

from django.utils import timezone

from clubsetup.access.errors import Invalid
from clubsetup.clock.writing import stamp
from events.models import Event

FAST = timedelta(minutes=5)  # a device's clock may be ahead of the server's by this much
EARLY = timedelta(days=1)  # cars are weighed on the evening before, too
MEND = "Set the device's clock, then mend this and send it anew."


def check_device_time(device_at: datetime | None, event: Event | None = None) -> None:
    """Refuses a time that cannot be: in the future, or before the event."""
    if device_at is None:
        return
    if device_at > timezone.now() + FAST:
        raise Invalid("device_at", f"{_clock(device_at)}, and that is still to come. {MEND}")
    if event and device_at < datetime.combine(event.starts_on, time(), event.club.zone()) - EARLY:
        raise Invalid("device_at", f"{_clock(device_at)}, before {event}. {MEND}")


def _clock(device_at: datetime) -> str:
    return f"The device's clock said {stamp(device_at)}"
