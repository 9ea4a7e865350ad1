"""A person's own account as a whole: what was done with it, and its end."""

from django.contrib import messages
from django.contrib.auth import logout
from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_GET, require_http_methods

from clubsetup.access.reauthentication import still_you
from clubsetup.site.list_pages import before_of
from clubsetup.site.pages import confirm_page, person, run_action
from teams.actions.erasing import erase_account
from teams.presenters.erasing import ACCOUNT_GOES, ACCOUNT_STAYS
from teams.presenters.trail import own_trail
from teams.queries.erasing import led_alone


@login_required
@require_GET
@never_cache
def my_trail(request: HttpRequest) -> HttpResponse:
    """When one signed in, and what one set: for the person alone."""
    user = person(request)
    lines, older = own_trail(user, before_of(request.GET), units=user.units())
    return render(request, "teams/my_trail.html", {"lines": lines, "older": older})


@still_you
@never_cache
@require_http_methods(["GET", "POST"])
def account_erase(request: HttpRequest) -> HttpResponse:
    """Erases one's own account, after saying exactly what goes and what stays."""
    user = person(request)
    if request.method == "POST":
        done = "Your account is erased."
        run_action(request, erase_account, by=user, done=done)
        if led_alone(user):
            return redirect("account-erase")
        logout(request)
        messages.success(request, done)
        return redirect("account_login")
    return confirm_page(
        request,
        title="Erase your account?",
        lead="Nobody can bring it back. " + " ".join(led_alone(user)),
        button="Erase my account",
        safe="Keep my account",
        back=reverse("me"),
        back_to="Me",
        goes=ACCOUNT_GOES,
        stays=ACCOUNT_STAYS,
    )
