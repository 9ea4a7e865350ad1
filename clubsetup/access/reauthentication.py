"""Asking once more who it is, before what would let somebody stay in another one's account."""

from collections.abc import Callable

from allauth.account.decorators import reauthentication_required
from allauth.account.internal.flows.reauthentication import did_recently_reauthenticate
from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse

from clubsetup.access.errors import NotAllowed

SAY_AGAIN = (
    "First show once more that it is you: open {path}, and send this again within five minutes."
)


def still_you(view: Callable[..., HttpResponse]) -> Callable[..., HttpResponse]:
    """A page for who is signed in and has just given the password, a passkey or a code again.

    Asked before the page is shown, so that nothing typed waits in a session meanwhile.
    """
    asked: Callable[..., HttpResponse] = login_required(reauthentication_required(view))
    return asked


def check_still_you(request: HttpRequest) -> None:
    """The same for the API. Raises NotAllowed."""
    if not did_recently_reauthenticate(request):
        raise NotAllowed(SAY_AGAIN.format(path="/accounts/reauthenticate/"))
