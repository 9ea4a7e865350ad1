"""How often one person may call the API."""

from typing import TYPE_CHECKING

from django.conf import settings
from rest_framework.request import Request
from rest_framework.throttling import BaseThrottle

from clubsetup.access.counts import count_one

if TYPE_CHECKING:  # the view's class asks for this module as it is made
    from rest_framework.views import APIView


class CallsOfPerson(BaseThrottle):
    """So many calls in so many seconds (settings.PERSON_LIMITS), and of somebody unknown by
    address."""

    def __init__(self) -> None:
        self.seconds_left = 0

    def allow_request(self, request: Request, view: "APIView") -> bool:
        """Counts the call; whether it is one too many."""
        most, seconds = settings.PERSON_LIMITS["calls"]
        counted = count_one(f"calls:{request.user.pk or self.get_ident(request)}", seconds)
        self.seconds_left = counted.seconds_left
        return counted.times <= most

    def wait(self) -> float:
        """Until calls are counted from nothing again."""
        return float(self.seconds_left)
