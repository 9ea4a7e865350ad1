"""A new password by a code that somebody made."""

from typing import Any

from allauth.account.adapter import get_adapter
from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.views.decorators.cache import never_cache
from django.views.decorators.debug import sensitive_post_parameters

from clubsetup.access.pages.forms import ByCodeForm
from clubsetup.access.reset_codes import use_reset_code
from clubsetup.site.pages import form_action, form_page


@sensitive_post_parameters("code", "password")
@never_cache
def password_by_code(request: HttpRequest) -> HttpResponse:
    """Asks for the address, the code and the new password."""
    form: Any = ByCodeForm(request.POST or None)
    if form.is_valid() and _counted(request, form) and _used(request, form):
        messages.success(request, "Your password is set. Sign in with it.")
        return redirect("account_login")
    lead = "It ends your sign-ins on other devices and your tokens. A second factor stays as it is."
    back = {"back": reverse("account_login"), "back_to": "Sign in"}
    title = "A new password by a code"
    return form_page(request, form, title=title, button="Save", lead=lead, **back)


def _used(request: HttpRequest, form: Any) -> bool:
    given = {"code": form.cleaned_data["code"], "password": form.cleaned_data["password"]}
    return form_action(form, use_reset_code, request=request, user=form.user, **given)


def _counted(request: HttpRequest, form: Any) -> bool:
    """Counts a try, by the address and by where it comes from, as a wrong password."""
    try:
        get_adapter(request).pre_authenticate(request, email=form.cleaned_data["email"])
    except forms.ValidationError as refused:
        form.add_error(None, refused)
        return False
    return True
