"""The answers to a request that could not be read, let in, found or answered (400 to 503)."""

import sys

from django.core.exceptions import RequestDataTooBig
from django.http import HttpRequest, HttpResponse, HttpResponseForbidden, HttpResponseServerError
from django.shortcuts import render
from django.template.loader import render_to_string
from django.views.defaults import page_not_found

from clubsetup.site.database_away import away, is_away
from clubsetup.site.early_refusals import TOO_LARGE, is_api, problem_answer, refused
from clubsetup.site.sign_in_again import page_before


def bad_request(request: HttpRequest, exception: Exception) -> HttpResponse:
    """A body that is too large, has too many fields or files, or is torn; a host that is not us."""
    if isinstance(exception, RequestDataTooBig):
        return refused(request, 413, TOO_LARGE)
    return refused(request, 400, "The request could not be read.")


def csrf_failed(request: HttpRequest, reason: str = "") -> HttpResponse:
    """The cookie that goes with the form is gone: the page leads back to the form."""
    page = render(request, "403_csrf.html", {"back": page_before(request)})
    return HttpResponseForbidden(page.content)


def not_found(request: HttpRequest, exception: Exception) -> HttpResponse:
    """A page for people, a problem document (RFC 9457) for programs."""
    if not is_api(request):
        return page_not_found(request, exception)
    return problem_answer(404, "There is no such address in the API.")


def server_error(request: HttpRequest) -> HttpResponse:
    """Ours to mend; or the database's, which comes back."""
    exception = sys.exception() if hasattr(sys, "exception") else sys.exc_info()[1]
    if is_away(exception):
        return away(request)
    if isinstance(exception, OSError) and type(exception).__name__ == "UnreadablePostError":
        return refused(request, 400, "The request broke off before it was whole.")
    if is_api(request):
        return problem_answer(500, "Something went wrong on the server. Nothing was saved.")
    return HttpResponseServerError(render_to_string("500.html"))
