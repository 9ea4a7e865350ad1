"""What a browser or a proxy may keep of our answers."""

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse

NOTHING = "private, no-store"


class NoStoreMiddleware:
    """Every page is somebody's own, so none is stored; static files are answered before this.

    A view that knows better says so by a Cache-Control with `public`.
    """

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        response = self.get_response(request)
        if "public" not in response.get("Cache-Control", ""):
            response["Cache-Control"] = NOTHING
        return response
