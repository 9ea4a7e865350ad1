"""A page for developers: every part of the look in every state, light and dark.

Off unless CLUBSETUP_LOOK=1: nobody in a paddock needs it.
"""

from django.conf import settings
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from clubsetup.site.look_samples import samples

SCHEMES = ("light", "dark")


@require_safe
def look(request: HttpRequest) -> HttpResponse:
    """`?scheme=light` or `dark`; else as the device says."""
    if not settings.LOOK_PAGE:
        raise Http404("CLUBSETUP_LOOK is not set.")
    asked = request.GET.get("scheme", "")
    scheme = asked if asked in SCHEMES else ""
    return render(request, "look/look.html", {**samples(), "scheme": scheme})
