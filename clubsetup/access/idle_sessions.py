"""Tablets that lie about: a session that its club lets rest for a while only, and none for ever.

The minutes come into the session at sign-in (teams/idle.py asks the clubs), so that no request has
to ask for them again.
"""

from collections.abc import Callable
from datetime import timedelta
from typing import Any

from django.contrib.auth import logout
from django.contrib.auth.signals import user_logged_in
from django.http import HttpRequest, HttpResponse
from django.utils import timezone

MINUTES = "idle_minutes"
SEEN = "seen_at"
RESTED = "rested_minutes"
# How exactly the last request is remembered: each time is a write.
GRAIN = 30
# However much it is used, a sign-in ends: a season's length, so that nobody meets it at an event.
LONGEST = timedelta(days=180)
BEGAN = "signed_in_at"


class IdleMiddleware:
    """Signs out whoever has not been seen for longer than their club allows, or signed in too long
    ago."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        if request.user.is_authenticated:
            _end_if_over(request, timezone.now().timestamp())
        return self.get_response(request)


def _end_if_over(request: HttpRequest, now: float) -> None:
    if now - request.session.setdefault(BEGAN, now) > LONGEST.total_seconds():
        _sign_out(request)
        return
    minutes = request.session.get(MINUTES)
    if not minutes:
        return
    seen = request.session.get(SEEN, now)
    if now - seen > minutes * 60:
        _sign_out(request)
        # The sign-in page says why.
        request.session[RESTED] = minutes
    elif SEEN not in request.session or now - seen > GRAIN:
        request.session[SEEN] = now


def _sign_out(request: HttpRequest) -> None:
    logout(request)
    # It is the same device: its person comes back, and what waits on it is sent then.
    del request.is_signing_out  # type: ignore[attr-defined]


def _on_sign_in(request: HttpRequest | None, **_: Any) -> None:
    if request is not None:
        request.session.pop(RESTED, None)
        request.session[BEGAN] = timezone.now().timestamp()


def connect() -> None:
    """To every sign-in."""
    user_logged_in.connect(_on_sign_in)
