"""Where a person is signed in: a row for each browser's session, so that it can be ended elsewhere.

Of the browser no more is kept than its name and what it runs on; no address, no place, no trace of
what was looked at.
"""

import re
from collections.abc import Callable
from typing import Any

from allauth.account import signals
from django.contrib.auth import SESSION_KEY
from django.contrib.auth.signals import user_logged_out
from django.db import connection, transaction
from django.http import HttpRequest, HttpResponse

from clubsetup.access import account
from clubsetup.access.models import SignIn, User
from clubsetup.access.viewer import viewing_as

LISTED = "sign_in"
# The first that fits names it: many browsers also call themselves by the names further down.
BROWSERS = (
    ("Edge", "Edg"),
    ("Samsung Internet", "SamsungBrowser"),
    ("Opera", "OPR"),
    ("Firefox", "Firefox|FxiOS"),
    ("Chrome", "Chrome|CriOS"),
    ("Safari", "Safari"),
)
SYSTEMS = (
    ("iPad", "iPad"),
    ("iPhone", "iPhone"),
    ("Android", "Android"),
    ("Windows", "Windows"),
    ("a Mac", "Macintosh"),
    ("ChromeOS", "CrOS"),
    ("Linux", "Linux"),
)


def device_of(request: HttpRequest) -> str:
    """'Chrome on Android'."""
    agent = request.headers.get("User-Agent", "")
    browser = next((name for name, sign in BROWSERS if re.search(sign, agent)), "A browser")
    system = next((name for name, sign in SYSTEMS if re.search(sign, agent)), "")
    return f"{browser} on {system}" if system else browser


def digest_of(request: HttpRequest) -> str:
    """What stands for this browser's session in the list."""
    return SignIn.digest_of(request.session.session_key or "")


class SignInMiddleware:
    """Puts a session on its person's list, at sign-in and whenever its key is changed."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        response = self.get_response(request)
        user, session = request.user, request.session
        # A token may have made somebody else the person asking. What is rolled back keeps no row;
        # the next request then does.
        if (
            isinstance(user, User)
            and not transaction.get_rollback()
            and session.get(SESSION_KEY) == str(user.pk)
            and session.get(LISTED) != session.session_key
        ):
            _put_on_list(request, user)
        return response


def _put_on_list(request: HttpRequest, user: User) -> None:
    request.session[LISTED] = request.session.session_key
    # Who signs in just now is not yet the viewer of this request.
    with viewing_as(user.pk):
        with connection.cursor() as cursor:
            cursor.execute("SELECT access.tidy_sign_ins()")
        SignIn.objects.get_or_create(
            digest=digest_of(request), defaults={"user": user, "device": device_of(request)}
        )


def _on_sign_out(request: HttpRequest | None, user: User | None, **_: Any) -> None:
    if request is not None and user is not None and request.session.session_key:
        with viewing_as(user.pk):
            SignIn.objects.filter(user=user, digest=digest_of(request)).delete()


def _on_new_password(request: HttpRequest, user: User, **_: Any) -> None:
    account.end_sign_ins(by=user, current=digest_of(request))


def _on_reset(user: User, **_: Any) -> None:
    # Whoever resets has lost the password, or somebody else has found it: nothing of before holds.
    with viewing_as(user.pk):
        account.end_sign_ins(by=user)
        account.end_my_tokens(by=user)


def connect() -> None:
    """To the signals after which the list is another."""
    user_logged_out.connect(_on_sign_out)
    signals.password_changed.connect(_on_new_password)
    signals.password_set.connect(_on_new_password)
    signals.password_reset.connect(_on_reset)
