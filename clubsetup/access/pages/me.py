"""A person's own account: name, units, light or dark, sign-in, tokens."""

from typing import Any
from uuid import UUID

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods

from clubsetup.access import account
from clubsetup.access.models import ApiToken, SignIn
from clubsetup.access.pages.forms import ColourSchemeForm, EndSignInsForm, NameForm, TokenForm
from clubsetup.access.reauthentication import still_you
from clubsetup.access.sign_ins import digest_of
from clubsetup.quantities.units import Units
from clubsetup.site.forms import UnitsForm
from clubsetup.site.pages import confirm_page, form_page, person, run_action, submit_action


@login_required
def me(request: HttpRequest) -> HttpResponse:
    """The settings page."""
    here = digest_of(request)
    sign_ins = [(sign_in, sign_in.digest == here) for sign_in in SignIn.objects.all()]
    context = {"tokens": ApiToken.objects.all(), "sign_ins": sign_ins}
    return render(request, "access/me.html", context)


@login_required
def my_name(request: HttpRequest) -> HttpResponse:
    form = NameForm(request.POST or None, user=person(request))
    if submit_action(form, account.set_my_name, by=request.user):
        messages.success(request, "Your name is changed.")
        return redirect("me")
    return form_page(request, form, title="Your name", button="Save", **_back())


@login_required
def my_units(request: HttpRequest) -> HttpResponse:
    """Changes what a bare number means."""
    user = person(request)
    form = UnitsForm(
        request.POST or None,
        chosen=user.preferred_units,
        fallback="As the club has it",
        over=Units.imperial(),
    )
    if submit_action(form, account.set_my_units, by=user):
        messages.success(request, "Your units are kept.")
        return redirect("me")
    lead = "What a number means when you type no unit. You can always type one: 118 cm, 11 psi."
    return form_page(request, form, title="Your units", button="Save", lead=lead, **_back())


@login_required
def my_colours(request: HttpRequest) -> HttpResponse:
    """Light, dark, or as the device says."""
    user = person(request)
    form = ColourSchemeForm(request.POST or None, user=user)
    if submit_action(form, account.set_my_colour_scheme, by=user):
        messages.success(request, "Your choice is kept, on every device you sign in on.")
        return redirect("me")
    lead = "Light is easier to read in the sun, dark is kinder at night."
    return form_page(request, form, title="Light or dark", button="Save", lead=lead, **_back())


@still_you
@never_cache
def make_token(request: HttpRequest) -> HttpResponse:
    """Makes a token and shows it, this once."""
    form: Any = TokenForm(request.POST or None)
    if submit_action(form, account.make_token, by=request.user):
        token, secret = form.outcome
        return render(request, "access/token_made.html", {"token": token, "secret": secret})
    lead = "For a program of yours that reads or writes here on your behalf."
    return form_page(request, form, title="New token", button="Make it", lead=lead, **_back())


@login_required
@require_http_methods(["GET", "POST"])
def end_token(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Ends a token, after asking."""
    token = get_object_or_404(ApiToken, pk=pk)
    if request.method == "GET":
        lead = (
            "Whatever uses it is refused from then on. It cannot be brought back; a new token is "
            "made and entered there instead."
        )
        title, words = f"End the token {token}?", {"button": "End the token", "safe": "Keep it"}
        return confirm_page(request, title=title, lead=lead, **words, **_back())
    run_action(
        request, account.end_token, by=request.user, token=token, done=f"{token} opens nothing now."
    )
    return redirect("me")


@still_you
@require_http_methods(["GET", "POST"])
def end_sign_in(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Signs one browser out, after asking."""
    sign_in = get_object_or_404(SignIn, pk=pk)
    if request.method == "GET":
        lead = "It is signed out at once. What waits on it to be sent stays there, unread."
        words = {"button": "Sign it out", "safe": "Leave it"}
        return confirm_page(request, title=f"Sign out {sign_in}?", lead=lead, **words, **_back())
    run_action(
        request,
        account.end_sign_in,
        by=request.user,
        sign_in=sign_in,
        done=f"{sign_in} is signed out.",
    )
    return redirect("me")


@still_you
@require_http_methods(["GET", "POST"])
def end_elsewhere(request: HttpRequest) -> HttpResponse:
    """Signs every other browser out, and ends the tokens too if asked."""
    form = EndSignInsForm(request.POST if request.method == "POST" else None)
    if submit_action(form, account.end_elsewhere, by=request.user, current=digest_of(request)):
        messages.success(request, "You are signed in here alone.")
        return redirect("me")
    title, lead = "Sign out everywhere else?", "This browser stays signed in."
    return form_page(request, form, title=title, button="Sign out", lead=lead, **_back())


def _back() -> dict[str, str]:
    return {"back": reverse("me"), "back_to": "Me"}
