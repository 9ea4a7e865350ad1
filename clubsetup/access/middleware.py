"""Every request is one transaction in which the person signed in is the viewer."""

from collections.abc import Callable
from typing import Any

from django.db import transaction
from django.http import HttpRequest, HttpResponse

from clubsetup.access.login_by_link import reach
from clubsetup.access.people import half_signed_in
from clubsetup.access.viewer import begin
from clubsetup.site.pages import refusal_page


class ViewerMiddleware:
    """Opens the transaction, sets the viewer, and rolls back when the view raised."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        user_id = request.user.pk if request.user.is_authenticated else None
        signing_in = None if user_id else half_signed_in(request)
        with transaction.atomic():
            begin(user_id, signing_in)
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
