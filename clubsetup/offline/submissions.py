"""What a device sends of its outbox: a page's own forms, each made once, however often it is sent.

A browser sends a form and is led on, or gets it back to mend. The outbox's script sends the same
fields with the header `Device-Sender`, the id of the person who filled them in, and is answered in
JSON: kept, or refused with the reason. What waited there without a connection says when it was
made by the device's clock.
"""

import hashlib
from collections.abc import Callable, Mapping
from datetime import datetime
from functools import partial, wraps
from typing import Any, TypeVar
from uuid import UUID

from django.db import models, transaction
from django.http import Http404, HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import redirect
from django.utils.dateparse import parse_datetime

from clubsetup.access.errors import NotAllowed, WrongState
from clubsetup.access.idempotency import DIFFERS, create_once
from clubsetup.offline.forms import SentOnce
from clubsetup.site.pages import form_action, person

SENDER = "Device-Sender"
MADE_AT = "device_at"
# Of the moment of sending, and not of what is sent.
PASSING = ("csrfmiddlewaretoken", MADE_AT)
CHANGED = (
    "This was sent before with something else in it, and that is kept. Void it if it is wrong. "
    "Send again to keep this too."
)
GONE = "This is not there any more, or not for you to see."

M = TypeVar("M", bound=models.Model)
View = Callable[[HttpRequest, UUID], HttpResponse]


def for_devices(view: View) -> View:
    """A refusal that would be a page of its own is answered in JSON, too.

    What one person filled in is never taken from another, whoever is signed in by then.
    """

    @wraps(view)
    def answer(request: HttpRequest, pk: UUID) -> HttpResponse:
        sender = request.headers.get(SENDER)
        if sender is None or not request.user.is_authenticated:
            return view(request, pk)
        if sender != str(request.user.pk):
            return JsonResponse({"status": "other"}, status=409)
        try:
            with transaction.atomic():
                return view(request, pk)
        except Http404:
            return _refused(GONE)
        except (NotAllowed, WrongState) as refusal:
            return _refused(str(refusal))

    return answer


def submit_once(
    request: HttpRequest,
    form: SentOnce,
    action: Callable[..., M],
    model: type[M],
    *,
    then: str,
    **given: Any,
) -> HttpResponse | None:
    """Runs the action of such a form once and leads on to `then`; None if it must be mended."""
    from_device = SENDER in request.headers
    if from_device:
        given[MADE_AT] = _made_at(request)
    made = form.is_valid() and form_action(
        form, partial(_once, request, form, action, model, given)
    )
    if from_device:
        answer = {"status": "saved", "next": then}
        return JsonResponse(answer) if made else _refused(_errors_text(form))
    return redirect(then) if made else None


def _once(
    request: HttpRequest,
    form: SentOnce,
    run: Callable[..., M],
    model: type[M],
    given: Mapping[str, Any],
) -> M:
    by, sent_id = person(request), form.sent_id()
    try:
        return create_once(
            by=by,
            row_id=sent_id,
            content=_content(request, form),
            make=lambda _: run(by=by, **given, **form.action_values()),
            find=lambda sent: model._default_manager.filter(pk=sent).first(),
        )[0]
    except WrongState as refusal:
        if str(refusal) != DIFFERS:
            raise
        form.renew()
        raise WrongState(CHANGED) from refusal


def _content(request: HttpRequest, form: SentOnce) -> list[Any]:
    fields = {name: texts for name, texts in request.POST.lists() if name not in PASSING}
    photo = form.cleaned_data.get("photo") or b""
    return [request.path, fields, hashlib.sha256(photo).hexdigest()]


def _made_at(request: HttpRequest) -> datetime | None:
    """When it was made by the device's clock; None where it was sent at once."""
    try:
        made = parse_datetime(request.POST.get(MADE_AT, ""))
    except ValueError:
        return None
    return made if made and made.tzinfo else None


def _refused(says: str) -> JsonResponse:
    return JsonResponse({"status": "refused", "says": says})


def _errors_text(form: SentOnce) -> str:
    """Every error with the field it is about."""
    errors_by_field = [
        f"{form.fields[name].label}: {' '.join(map(str, errors))}"
        if name in form.fields
        else " ".join(map(str, errors))
        for name, errors in form.errors.items()
    ]
    return " ".join(errors_by_field)
