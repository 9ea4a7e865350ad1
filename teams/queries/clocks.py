"""Whose wall clock a person reads: that of their club."""

from collections.abc import Callable
from datetime import date, datetime, timedelta, tzinfo
from zoneinfo import ZoneInfo

from django.utils import timezone

from clubsetup.access.models import User
from clubsetup.clock.zones import one_zone
from clubsetup.site.service_clock import service_zone
from teams.queries.roles import roles_of


def zone_of(user: User) -> ZoneInfo:
    """The zone in which all clubs of the person are; the service's where they differ or are none.

    Read together with the person's roles, so that it costs no question of its own.
    """
    return one_zone(roles_of(user).zones) or service_zone()


def today_of(user: User) -> date:
    """The day it is where the person is, whichever door they came in by."""
    return timezone.localdate(timezone=zone_of(user))


class LazyZone(tzinfo):
    """A zone that is found out when the first time is told in it, and then kept."""

    def __init__(self, find: Callable[[], ZoneInfo]) -> None:
        self._find = find
        self._found: ZoneInfo | None = None

    @property
    def _zone(self) -> ZoneInfo:
        if self._found is None:
            self._found = self._find()
        return self._found

    def __str__(self) -> str:
        return str(self._zone)

    def utcoffset(self, dt: datetime | None) -> timedelta | None:
        """As the zone has it."""
        return self._zone.utcoffset(dt)

    def dst(self, dt: datetime | None) -> timedelta | None:
        """As the zone has it."""
        return self._zone.dst(dt)

    def tzname(self, dt: datetime | None) -> str | None:
        """As the zone has it."""
        return self._zone.tzname(dt)

    def fromutc(self, dt: datetime) -> datetime:
        """In the zone itself, which knows an hour that comes twice."""
        return self._zone.fromutc(dt.replace(tzinfo=self._zone))
