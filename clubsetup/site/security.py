"""What is kept and how it is erased, and how to report a weakness: for everybody."""

from datetime import UTC, datetime, time, timedelta

from django.conf import settings
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_safe

# RFC 9116, 2.5.5, recommends less than a year ahead. Reckoned from the day it is read, so that no
# forgotten date makes it void.
HOLDS_FOR = timedelta(days=180)


@require_safe
def privacy(request: HttpRequest) -> HttpResponse:
    """The rule of what is kept, what goes when it is erased and what stays."""
    context = {"contact": settings.SECURITY_CONTACT, "days": settings.PRINT_KEEP_DAYS}
    return render(request, "site/privacy.html", context)


@require_safe
def security_txt(request: HttpRequest) -> HttpResponse:
    """As RFC 9116 has it; there is none where nobody said whom to tell."""
    if not settings.SECURITY_CONTACT:
        raise Http404("CLUBSETUP_SECURITY_CONTACT is not set.")
    until = timezone.now().astimezone(UTC).date() + HOLDS_FOR
    lines = {
        "Contact": settings.SECURITY_CONTACT,
        "Expires": datetime.combine(until, time(), UTC).isoformat().replace("+00:00", "Z"),
        "Preferred-Languages": "en",
        "Canonical": request.build_absolute_uri(reverse("security-txt")),
        "Policy": request.build_absolute_uri(reverse("privacy") + "#report"),
    }
    text = "".join(f"{name}: {value}\n" for name, value in lines.items())
    return HttpResponse(text, content_type="text/plain; charset=utf-8")
