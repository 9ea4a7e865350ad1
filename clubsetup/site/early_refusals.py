"""A refusal that stands before any view: a page for people, a problem (RFC 9457) for programs."""

from collections.abc import Sequence
from http import HTTPStatus

from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import render

API = "/api/"
PROBLEM = "application/problem+json"
TOO_LARGE = "This is larger than the service takes. Send less at once."


def is_api(request: HttpRequest) -> bool:
    """Whether a program asks."""
    return request.path_info.startswith(API)


def problem_answer(status: int, detail: str, errors: Sequence[dict[str, str]] = ()) -> HttpResponse:
    """A problem document outside of any API view; `type` is about:blank."""
    title = HTTPStatus(status).phrase
    body = {"type": "about:blank", "title": title, "status": status, "detail": detail}
    more = {"errors": list(errors)} if errors else {}
    return JsonResponse({**body, **more}, status=status, content_type=PROBLEM)


def refused(
    request: HttpRequest, status: int, detail: str, errors: Sequence[dict[str, str]] = ()
) -> HttpResponse:
    """Says what could not be read; `errors` says it of each field, for programs."""
    if is_api(request):
        return problem_answer(status, detail, errors)
    return render(request, "400.html", {"text": detail}, status=status)
