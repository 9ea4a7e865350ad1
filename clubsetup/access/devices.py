"""Devices that somebody has signed in on before.

Whoever tries passwords at an address shuts that address out for a while. The person it belongs to
is not shut out where they have signed in before: there a cookie carries a mark, and wrong
passwords of such a device are counted by themselves. The mark says nothing of the person, opens
nothing, and is worth nothing after the password was changed.

Each sign-in stands in the person's own trail, and in no team's or club's.
"""

from collections.abc import Callable
from typing import Any

from allauth.account import signals
from django.conf import settings
from django.contrib.auth.signals import user_logged_in, user_logged_out
from django.core import signing
from django.http import HttpRequest, HttpResponse
from django.utils.crypto import salted_hmac
from django.utils.http import urlencode

from clubsetup.access.actions import record
from clubsetup.access.models import User
from clubsetup.access.viewer import viewing_as

SALT = "clubsetup.access.devices"
MOST_PEOPLE = 12  # on one tablet; the one who signed in longest ago goes first
HOLDS_FOR = 60 * 60 * 24 * 180
# After a sign-out the browser throws all cookies away; the address it is led to carries the mark.
HANDED_ON = "device"
HANDED_ON_FOR = 60


def mark_of(user: User) -> str:
    """What stands for a person on a device: nothing that others could make or read."""
    return salted_hmac(SALT, f"{user.pk}{user.password}", algorithm="sha256").hexdigest()[:32]


def marks_of(request: HttpRequest) -> list[str]:
    """The marks that the device shows, the latest first; none where the cookie was meddled with."""
    return _read(request.COOKIES.get(settings.DEVICE_COOKIE_NAME, ""), HOLDS_FOR)


def has_signed_in_here(request: HttpRequest, user: User) -> bool:
    """This device shows the mark of a sign-in of that person."""
    return mark_of(user) in marks_of(request)


def _read(text: str, age: int) -> list[str]:
    try:
        return [str(mark) for mark in signing.loads(text, salt=SALT, max_age=age)]
    except (signing.BadSignature, TypeError):
        return []


class DeviceMiddleware:
    """Keeps the marks in a cookie; at sign-out it has the browser forget what it holds of us."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        response = self.get_response(request)
        marks = getattr(request, "device_marks", None)
        if getattr(request, "is_signing_out", False):
            _forget(response, marks_of(request))
        elif marks is not None:
            _keep(response, marks)
        elif handed_on := _read(request.GET.get(HANDED_ON, ""), HANDED_ON_FOR):
            _keep(response, handed_on)
        return response


def _keep(response: HttpResponse, marks: list[str]) -> None:
    response.set_cookie(
        settings.DEVICE_COOKIE_NAME,
        signing.dumps(marks, salt=SALT),
        max_age=HOLDS_FOR,
        secure=settings.HTTPS,
        httponly=True,
        samesite="Lax",
    )


def _forget(response: HttpResponse, marks: list[str]) -> None:
    # Never "storage": what waits there to be sent is the person's, and goes off when they are back.
    response["Clear-Site-Data"] = '"cache", "cookies"'
    if marks and response.status_code == 302:
        mark = urlencode({HANDED_ON: signing.dumps(marks, salt=SALT)})
        response["Location"] += ("&" if "?" in response["Location"] else "?") + mark


def _on_sign_in(request: HttpRequest | None, user: User, **_: Any) -> None:
    if request is not None:
        own = mark_of(user)
        others = [mark for mark in marks_of(request) if mark != own]
        request.device_marks = [own, *others][:MOST_PEOPLE]  # type: ignore[attr-defined]


def _on_sign_out(request: HttpRequest | None, **_: Any) -> None:
    if request is not None:
        request.is_signing_out = True  # type: ignore[attr-defined]


def _note_sign_in(request: HttpRequest, user: User, **_: Any) -> None:
    """One line; it says so where the device showed no sign-in of this person before."""
    device = "" if has_signed_in_here(request, user) else "new to this account"
    with viewing_as(user.pk):
        record(by=user, did="signed_in", on=user, device=device)


def connect() -> None:
    """To sign-ins and sign-outs."""
    user_logged_in.connect(_on_sign_in)
    user_logged_out.connect(_on_sign_out)
    signals.user_logged_in.connect(_note_sign_in)
