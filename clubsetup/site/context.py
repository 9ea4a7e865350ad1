"""What every page's template may use."""

from typing import Any

from django.conf import settings
from django.http import HttpRequest


def site(request: HttpRequest) -> dict[str, Any]:
    """The service's own name, and whether others on the network could read along."""
    here = request.get_host().rpartition(":")[0] or request.get_host()
    is_local = here in ("localhost", "127.0.0.1", "[::1]")
    return {
        "site_name": "Clubsetup",
        "is_plain_http": not (request.is_secure() or is_local),
        "mail_is_set_up": settings.MAIL_IS_SET_UP,
    }
