"""What stands at an address that is none, or not the viewer's to see."""

from django.http import HttpRequest, HttpResponse, JsonResponse
from django.views.defaults import page_not_found


def not_found(request: HttpRequest, exception: Exception) -> HttpResponse:
    """A page for people, a problem document (RFC 9457) for programs."""
    if not request.path.startswith("/api/"):
        return page_not_found(request, exception)
    body = {
        "type": "about:blank",
        "title": "Not Found",
        "status": 404,
        "detail": "There is no such address in the API.",
    }
    return JsonResponse(body, status=404, content_type="application/problem+json")
