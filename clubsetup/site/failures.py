"""What stands where a request could not be read (400, 413) or answered (500, 503)."""

import sys

from django.core.exceptions import RequestDataTooBig
from django.http import HttpRequest, HttpResponse, HttpResponseServerError
from django.template.loader import render_to_string

from clubsetup.site.database_away import away, is_away
from clubsetup.site.refused import TOO_LARGE, is_api, problem_answer, refused


def bad_request(request: HttpRequest, exception: Exception) -> HttpResponse:
    """A body that is too large, has too many fields or files, or is torn; a host that is not us."""
    if isinstance(exception, RequestDataTooBig):
        return refused(request, 413, TOO_LARGE)
    return refused(request, 400, "The request could not be read.")


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
