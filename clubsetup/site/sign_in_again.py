"""Where a person is led whose sign-in ended while a form was open: back to the form's page."""

from collections.abc import Callable
from urllib.parse import urlsplit

from django.contrib.auth.views import redirect_to_login
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import render, resolve_url
from django.utils.http import url_has_allowed_host_and_scheme

LOGIN = "account_login"


def page_before(request: HttpRequest) -> str:
    """The page of this service that the request came from, with its query; else the start page."""
    came_from = request.META.get("HTTP_REFERER", "")
    if not came_from or not url_has_allowed_host_and_scheme(
        came_from, {request.get_host()}, require_https=request.is_secure()
    ):
        return resolve_url("start")
    address = urlsplit(came_from)
    if address.path.startswith(resolve_url(LOGIN)):
        return resolve_url("start")
    query = f"?{address.query}" if address.query else ""
    back = f"{address.path}{query}"
    # "//elsewhere/x" is a path of this host in a referer and another host's address in a link.
    return back if url_has_allowed_host_and_scheme(back, None) else resolve_url("start")


class SignedOutMiddleware:
    """After sign-in a form's page opens again, never the bare address the form was sent to."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        response = self.get_response(request)
        if response.status_code == 405:
            return _not_a_page(request, response)
        if request.method == "POST" and _asks_to_sign_in(request, response):
            return redirect_to_login(page_before(request))
        return response


def _asks_to_sign_in(request: HttpRequest, response: HttpResponse) -> bool:
    where = urlsplit(response.get("Location", ""))
    asks = response.status_code == 302 and where.path == resolve_url(LOGIN) and bool(where.query)
    return asks and not request.user.is_authenticated


def _not_a_page(request: HttpRequest, response: HttpResponse) -> HttpResponse:
    if response.get("Content-Type", "").startswith("application/problem+json"):
        return response
    answer: HttpResponse
    if request.path.startswith("/api/"):
        body = {"type": "about:blank", "title": "Method Not Allowed", "status": 405}
        detail = {"detail": "This address does not take that method."}
        answer = JsonResponse({**body, **detail}, content_type="application/problem+json")
    else:
        answer = render(request, "405.html", {"back": page_before(request)})
    answer.status_code = 405
    answer["Allow"] = response.get("Allow", "")
    return answer
