"""Pages tell times as the wall clock of the reader's club does."""

from collections.abc import Callable
from zoneinfo import ZoneInfo

from django.http import HttpRequest, HttpResponse
from django.utils import timezone

from clubsetup.access.models import User
from clubsetup.site.service_clock import service_zone
from teams.queries.clocks import LazyZone, zone_of

API = "/api/"


class ClockMiddleware:
    """Stands inside ViewerMiddleware, as the reader's roles say which clock. The API keeps UTC."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        if request.path_info.startswith(API):
            return self.get_response(request)
        with timezone.override(LazyZone(lambda: _zone(request))):
            return self.get_response(request)


def _zone(request: HttpRequest) -> ZoneInfo:
    user = request.user
    return zone_of(user) if isinstance(user, User) else service_zone()
