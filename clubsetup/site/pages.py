"""What every room's pages share: running an action from a form, and saying what came of it."""

from collections.abc import Callable, Sequence
from typing import Any, TypeVar

from django import forms
from django.contrib import messages
from django.db import transaction
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from rest_framework.request import Request

from clubsetup.access.errors import Invalid, NotAllowed, TooOften, WrongState
from clubsetup.access.models import User
from clubsetup.quantities.errors import QuantityError
from clubsetup.site.database_refusals import as_invalid

R = TypeVar("R")


def form_action(form: forms.BaseForm, action: Callable[..., Any], **kwargs: Any) -> bool:
    """Runs `action(**kwargs)` for a valid form and says whether it was done.

    What the action refuses stands on the form: `Invalid` beside the field it names (above the form
    where the form has no such field), `WrongState` and `QuantityError` above it. Nothing of a
    refused action is saved. What it returned is in `form.outcome`.
    `NotAllowed` passes through to the 403 page: no form can mend it.
    """
    if not form.is_valid():
        return False
    try:
        with transaction.atomic():
            form.outcome = action(**kwargs)  # type: ignore[attr-defined]
    except Invalid as refusal:
        form.add_error(refusal.field if refusal.field in form.fields else None, refusal.message)
    except QuantityError as refusal:
        form.add_error(None, refusal.message)
    except WrongState as refusal:
        form.add_error(None, str(refusal))
    return not form.errors


def run_action(
    request: HttpRequest, action: Callable[..., R], *, done: str, **kwargs: Any
) -> R | None:
    """Runs an action that a single button stands for, and leaves a message either way.

    Returns what the action returned, None where it was refused. `done` is said when it was done.
    """
    try:
        with transaction.atomic():
            result = action(**kwargs)
    except (WrongState, Invalid) as refusal:
        messages.error(request, str(refusal))
        return None
    messages.success(request, done)
    return result


def submit_action(form: forms.BaseForm, action: Callable[..., Any], **kwargs: Any) -> bool:
    """`form_action` with the form's own values too, under their fields' names."""
    return form.is_valid() and form_action(form, action, **form.cleaned_data, **kwargs)


def person(request: HttpRequest | Request) -> User:
    """Who is signed in; for views that let in people only."""
    if not isinstance(request.user, User):
        raise NotAllowed("Sign in first.")
    return request.user


def form_page(
    request: HttpRequest,
    form: forms.BaseForm,
    *,
    title: str,
    button: str,
    back: str = "",
    back_to: str = "",
    lead: str = "",
    caution: str = "",
    template: str = "site/form_page.html",
    **more: Any,
) -> HttpResponse:
    """A page with one form on it; `back` is where Cancel leads, `back_to` what stands there.

    `more` is for a `template` of its own.
    """
    context = {"form": form, "title": title, "submit": button, "back": back, "back_to": back_to}
    return render(request, template, {**context, "lead": lead, "caution": caution, **more})


def confirm_page(
    request: HttpRequest,
    *,
    title: str,
    lead: str,
    button: str,
    safe: str,
    back: str,
    back_to: str,
    caution: str = "",
    says: str = "",
    goes: Sequence[str] = (),
    stays: Sequence[str] = (),
) -> HttpResponse:
    """Asks before what cannot be undone; its form goes to the same address.

    `title` asks and names the thing, `lead` says what comes of it, `button` says what is done.
    `safe` comes first and leads back, where nothing has changed. `says` is a name that goes along
    with the answer: what it was asked about beside the thing itself. `goes` and `stays` list what
    an erasure takes and leaves.
    """
    context = {"title": title, "lead": lead, "button": button, "safe": safe, "caution": caution}
    more = {"back": back, "back_to": back_to, "says": says, "goes": goes, "stays": stays}
    return render(request, "site/confirm.html", {**context, **more})


def refusal_page(request: HttpRequest, exception: Exception) -> HttpResponse | None:
    """What an action refused, as a page: 409 for the wrong state, 400 for what cannot be kept,
    429 for what was done too often."""
    if isinstance(exception, TooOften):
        context = {"title": "Too often", "text": str(exception)}
        page = render(request, "site/refusal.html", context, status=429)
        page["Retry-After"] = str(exception.seconds)
        return page
    if isinstance(exception, WrongState):
        context = {"title": "Not now", "text": str(exception)}
        return render(request, "site/refusal.html", context, status=409)
    refusal = as_invalid(exception, request) or exception
    if isinstance(refusal, Invalid | QuantityError):
        title = "That cannot be shown" if request.method == "GET" else "That cannot be kept"
        context = {"title": title, "text": refusal.message}
        return render(request, "site/refusal.html", context, status=400)
    return None
