"""Every request is one transaction in which the person signed in is the viewer; a browser that is
handed over gets its page alone."""

from collections.abc import Callable
from typing import Any

from django.db import transaction
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse

from clubsetup.access.login_by_link import reach
from clubsetup.access.people import half_signed_in
from clubsetup.access.sign_ins import digest_of
from clubsetup.access.viewer import begin
from clubsetup.site.early_refusals import is_api, problem_answer
from clubsetup.site.pages import refusal_page

# What a browser that is handed over gets; a floor above has them.
ITS_PAGES = ("handed-over", "handed-over-back")
SIGN_OUT = "account_logout"
HANDED_OVER = "This browser is handed over: until the code is typed it gets one page, nothing else."


class ViewerMiddleware:
    """Opens the transaction, sets the viewer, and rolls back when the view raised."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        user_id = request.user.pk if request.user.is_authenticated else None
        signing_in = None if user_id else half_signed_in(request)
        with transaction.atomic():
            browser = digest_of(request) if user_id else ""
            request.is_handed_over = begin(  # type: ignore[attr-defined]
                user_id, signing_in, browser
            )
            request.may_be_saved = False  # type: ignore[attr-defined]
            response = self.get_response(request)
            # From here on it can be saved without our hearing of it; a 503 then says so.
            request.may_be_saved = not transaction.get_rollback()  # type: ignore[attr-defined]
            return response

    def process_view(
        self, request: HttpRequest, view: Any, args: tuple[Any, ...], kwargs: dict[str, Any]
    ) -> None:
        """A link from a mail names whose account it is about."""
        reach(request, kwargs)

    def process_exception(self, request: HttpRequest, exception: Exception) -> HttpResponse | None:
        """A view that raised has saved nothing; what an action refused becomes a clear page."""
        transaction.set_rollback(True)
        return refusal_page(request, exception)


class HandedOverMiddleware:
    """Leads every request of a browser that is handed over to its page; a program is refused.

    Signing out is let through: it ends the session, and shows nothing.
    """

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        if not request.is_handed_over or _is_let_through(request):  # type: ignore[attr-defined]
            return self.get_response(request)
        if is_api(request):
            return problem_answer(403, HANDED_OVER)
        if request.headers.get("HX-Request"):
            answer = HttpResponse(status=403)
            answer["HX-Redirect"] = reverse(ITS_PAGES[0])
            return answer
        return redirect(ITS_PAGES[0])


def _is_let_through(request: HttpRequest) -> bool:
    if request.path_info in {reverse(name) for name in ITS_PAGES}:
        return True
    return request.method == "POST" and request.path_info == reverse(SIGN_OUT)
