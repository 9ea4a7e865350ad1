"""What was typed into a form and may stand in an answer: never what signs a person in."""

import re

from django.core.exceptions import SuspiciousOperation
from django.http import HttpRequest
from django.http.multipartparser import MultiPartParserError

# Names as in static/typed.js, and codes: of a sign-in, and a team's for its parts.
_SECRET = re.compile("csrf|token|secret|password|birth|code", re.IGNORECASE)


def typed_to_keep(request: HttpRequest) -> tuple[list[tuple[str, str]], bool]:
    """Names and texts of a form that was sent, without secrets and files; and whether that is all.

    Where it is not, the same form must not be sent again as if it were.
    """
    if request.path_info.startswith("/accounts/"):
        return [], False
    try:
        sent, files = dict(request.POST.lists()), request.FILES
    except (SuspiciousOperation, MultiPartParserError, OSError):
        return [], False
    sent.pop("csrfmiddlewaretoken", None)
    fields = [(name, text) for name in sent if not _SECRET.search(name) for text in sent[name]]
    return fields, not files and not any(_SECRET.search(name) for name in sent)
