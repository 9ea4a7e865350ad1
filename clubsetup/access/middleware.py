"""Every request is one transaction in which the person signed in is the viewer."""

from collections.abc import Callable

from django.db import transaction
from django.http import HttpRequest, HttpResponse

from clubsetup.access.viewer import set_viewer
from clubsetup.site.pages import refusal_page


class ViewerMiddleware:
    """Opens the transaction, sets the viewer, and rolls back when the view raised."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        user_id = request.user.pk if request.user.is_authenticated else None
        with transaction.atomic():
            set_viewer(user_id)
            request.may_be_saved = False  # type: ignore[attr-defined]
            response = self.get_response(request)
            # From here on it can be saved without our hearing of it; a 503 then says so.
            request.may_be_saved = not transaction.get_rollback()  # type: ignore[attr-defined]
            return response

    def process_exception(self, request: HttpRequest, exception: Exception) -> HttpResponse | None:
        """A view that raised has saved nothing; what an action refused becomes a clear page."""
        transaction.set_rollback(True)
        return refusal_page(request, exception)
