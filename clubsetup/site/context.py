"""What every page's template may use."""

from typing import Any

from django.http import HttpRequest


def site(request: HttpRequest) -> dict[str, Any]:
    """The service's own name."""
    return {"site_name": "Clubsetup"}
