"""The clock of the service itself, for clubs that chose none and people of no club."""

from zoneinfo import ZoneInfo

from django.conf import settings
from django.core.exceptions import ValidationError

from clubsetup.clock.zones import unknown_zone


def service_zone_name() -> str:
    """What a new club begins with."""
    return str(settings.CLUBSETUP_TIME_ZONE)


def service_zone() -> ZoneInfo:
    """The service's own zone."""
    return ZoneInfo(service_zone_name())


def check_zone(name: str) -> None:
    """For fields that keep the name of a zone."""
    if problem := unknown_zone(name):
        raise ValidationError(problem, code="time_zone")
