"""While the database is away, or went in the middle of a request: 503, and what was typed is kept.
Redis, where CACHE_URL names one, counts as a part of it: sign-ins and limits are counted there.

A connection that died between two requests is found and replaced before the next one uses it
(CONN_HEALTH_CHECKS). Here is what is left: the database gone for longer, or during a request.
"""

import sys
from collections.abc import Callable

from django.contrib.auth.models import AnonymousUser
from django.db import InterfaceError, OperationalError, connections
from django.http import HttpRequest, HttpResponse
from django.middleware.csrf import get_token
from django.template.loader import render_to_string

from clubsetup.site.early_refusals import is_api, problem_answer
from clubsetup.site.secrets_typed import typed_to_keep
from clubsetup.site.sign_in_again import page_before

RETRY_AFTER = 5  # seconds
SAFE = ("GET", "HEAD")
AWAY = (OperationalError, InterfaceError)
_NOTHING = "The service cannot reach its store. Nothing of this was saved. Try again shortly."
_UNKNOWN = (
    "The service lost its store as this was being saved, and it is not known whether it was. "
    "Look whether it is there before you send it again."
)


def is_away(exception: BaseException | None) -> bool:
    """Whether an exception, or what it came of, is the absence of the database or of Redis."""
    while exception is not None:
        if isinstance(exception, (*AWAY, *_redis_away())):
            return True
        exception = exception.__cause__ or exception.__context__
    return False


def _redis_away() -> tuple[type[BaseException], ...]:
    """What the Redis library raises; nothing where nobody loaded it, which takes half a second."""
    errors = sys.modules.get("redis.exceptions")
    return (errors.ConnectionError, errors.TimeoutError) if errors else ()


def away(request: HttpRequest) -> HttpResponse:
    """The answer, made without the database."""
    unknown = request.method not in SAFE and getattr(request, "may_be_saved", False)
    text = _UNKNOWN if unknown else _NOTHING
    response = problem_answer(503, text) if is_api(request) else _page(request, text)
    response["Retry-After"] = str(RETRY_AFTER)
    response["Cache-Control"] = "no-store"
    response.database_away = True  # type: ignore[attr-defined]
    return response


def _page(request: HttpRequest, text: str) -> HttpResponse:
    # No request goes to the template: its context processors ask the database who is signed in.
    known = getattr(request, "_cached_user", AnonymousUser())
    asks = request.method in SAFE
    typed, whole = ([], False) if asks else typed_to_keep(request)
    context = {
        "text": text,
        "viewer": known.pk,
        "again": request.get_full_path() if asks else "",
        "back": page_before(request),
        "address": request.get_full_path(),
        "typed": typed,
        "send_again": whole and text == _NOTHING,
        "csrf_token": get_token(request),
    }
    return HttpResponse(render_to_string("503.html", context), status=503)


class DatabaseAwayMiddleware:
    """Asks a second time where asking twice is safe: the first may have met a dying connection."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        response = self.get_response(request)
        if request.method not in SAFE or not getattr(response, "database_away", False):
            return response
        _let_go_of_dead_connections()
        return self.get_response(request)


def _let_go_of_dead_connections() -> None:
    for connection in connections.all(initialized_only=True):
        if not connection.in_atomic_block:
            connection.close_if_unusable_or_obsolete()
