"""What comes in is read once, before anything looks at it: address, cookies, the head of the body.

A form's own boxes are held by clubsetup/site/box_words.py, JSON by clubsetup/site/readable_text.py
(through clubsetup/access/api/parsers.py), so that what was typed stays where it was typed.
"""

import codecs
from collections.abc import Callable, Iterator
from urllib.parse import unquote_plus

from django.conf import settings
from django.core.exceptions import SuspiciousOperation
from django.http import HttpRequest, HttpResponse

from clubsetup.site.early_refusals import TOO_LARGE, refused
from clubsetup.site.readable_text import has_no_text

_UTF_8 = {codecs.lookup("utf-8"), codecs.lookup("ascii")}


class EdgeMiddleware:
    """Answers 400 or 413 to what cannot be read, and lets through the rest."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        if _is_too_large(request):
            return refused(request, 413, TOO_LARGE)
        if "\x00" in request.path_info:
            return refused(request, 400, "There is no such address: a sign in it has no meaning.")
        if not _is_utf_8(request):
            return refused(request, 400, "This is sent in another encoding. Send it in UTF-8.")
        if errors := list(_unread_in_query(request)):
            return refused(request, 400, errors[0]["detail"], errors)
        _forget_unreadable_cookies(request)
        return self.get_response(request)


def _is_too_large(request: HttpRequest) -> bool:
    most = settings.DATA_UPLOAD_MAX_MEMORY_SIZE
    if request.content_type == "multipart/form-data":
        most += settings.MOST_UPLOAD_BYTES * settings.DATA_UPLOAD_MAX_NUMBER_FILES
    length = str(request.META.get("CONTENT_LENGTH") or "0")
    return length.isdecimal() and (len(length) > 18 or int(length) > most)


def _is_utf_8(request: HttpRequest) -> bool:
    """Some of Python's codecs are no encodings of text at all; a request may name any."""
    named = (request.content_params or {}).get("charset")
    try:
        return not named or codecs.lookup(named) in _UTF_8
    except (LookupError, ValueError):
        return False


def _unread_in_query(request: HttpRequest) -> Iterator[dict[str, str]]:
    try:
        query = str(request.META.get("QUERY_STRING", "")).encode("latin-1").decode()
        parts = query.split("&") if query else []
    except UnicodeError:
        yield {"parameter": "", "detail": "The address is not written in UTF-8."}
        return
    try:
        request.GET  # noqa: B018 (reads it: more names than a request may have)
    except SuspiciousOperation:
        yield {"parameter": "", "detail": "The address asks for too many things at once."}
        return
    for part in parts:
        name, _, value = part.partition("=")
        if not (_can_be_read(name) and _can_be_read(value)):
            shown = unquote_plus(name).replace("\x00", "")[:60]
            detail = f"“{shown}” in the address holds a sign that cannot be read. Write it anew."
            yield {"parameter": shown, "detail": detail}


def _can_be_read(quoted: str) -> bool:
    try:
        return not has_no_text(unquote_plus(quoted, errors="strict"))
    except UnicodeDecodeError:
        return False


def _forget_unreadable_cookies(request: HttpRequest) -> None:
    """A cookie may spell NUL in octal; one that does is as good as none."""
    for name in [n for n, value in request.COOKIES.items() if has_no_text([n, value])]:
        del request.COOKIES[name]
