"""The phone in the driver's hands: handed over, the pictures, and given back.

While it is handed over a browser gets the last two pages alone (clubsetup/access/middleware.py).
"""

from typing import Any
from uuid import UUID

from allauth.account.forms import ReauthenticateForm
from django import forms
from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.views.decorators.debug import sensitive_post_parameters

from cars.models import Run
from cars.permissions import check_can_note_run
from cars.runs.actions.handed_over import STRUCK, hand_to_driver, note_driver_alone
from cars.runs.actions.runs import FeelSaid
from cars.runs.pages.track import run_or_404
from cars.runs.presenters.feel_pictures import questions_to_driver
from cars.runs.queries.runs import run_or_none
from clubsetup.access.errors import WrongState, is_allowed
from clubsetup.access.handed_over import (
    MOST_WRONG,
    give_back_by_code,
    give_back_by_password,
    handed_over,
)
from clubsetup.access.models import SignIn
from clubsetup.access.shut_out import seconds_shut_out, too_many_tries
from clubsetup.access.sign_ins import digest_of
from clubsetup.site.pages import form_action, form_page, person, submit_action

LEAD = (
    "The driver gets five questions in pictures and nothing else of what you see here, until this "
    "code is typed. After five wrong codes it asks for your password."
)
# How allauth names that a password was not looked at.
TOO_MANY = "too_many_login_attempts"
# No browser offers what it keeps for such a field, as far as it heeds that: a child would only
# have to press it.
NOT_KEPT = {"autocomplete": "one-time-code"}


def _code_field(label: str, help_text: str = "") -> forms.CharField:
    typed = forms.TextInput(attrs={**NOT_KEPT, "inputmode": "numeric"})
    return forms.CharField(label=label, max_length=4, widget=typed, help_text=help_text)


class HandOverForm(forms.Form):
    """The code that opens the phone again."""

    outcome: Any
    code = _code_field("Code", "Four digits that the driver does not know.")


class CodeForm(forms.Form):
    """The code, typed by whoever gets the phone back."""

    outcome: Any
    code = _code_field("Code of the one who handed it to you")


class PasswordForm(ReauthenticateForm):  # type: ignore[misc]
    """The password, once too many codes were wrong. Wrong ones count as at the sign-in."""

    outcome: Any

    def __init__(self, *args: Any, request: HttpRequest, **kwargs: Any) -> None:
        super().__init__(*args, user=request.user, **kwargs)
        self.request = request
        self.fields["password"].widget.attrs.update(NOT_KEPT)
        self.fields["password"].help_text = ""  # a way elsewhere, which is closed here

    def clean_password(self) -> str:
        """The password of the account; where it is not looked at, how long that is so."""
        try:
            password: str = super().clean_password()
        except forms.ValidationError as refused:
            if refused.code == TOO_MANY:
                raise forms.ValidationError(self.wait, code=TOO_MANY) from refused
            raise
        return password

    @property
    def wait(self) -> str:
        """How long no password is looked at; empty where the next one is."""
        seconds = seconds_shut_out(self.request, person(self.request))
        return too_many_tries(seconds) if seconds or self.is_bound else ""

    @property
    def is_shut_out(self) -> bool:
        """No password was looked at."""
        return bool(self.has_error("password", TOO_MANY))


class AnswersForm(forms.Form):
    """The pictures that were chosen; a question left out is in none of `cleaned_data`."""

    outcome: Any

    def clean(self) -> dict[str, Any]:
        """What was answered, '' where the driver does not know."""
        return {name: self.data[name] for name in FeelSaid._fields if name in self.data}


@login_required
def hand_over(request: HttpRequest, pk: UUID) -> HttpResponse:
    """Asks for the code, and hands this browser to the driver of the run."""
    run, by = run_or_404(request, pk), person(request)
    check_can_note_run(by, run)
    if run.struck_at is not None:
        raise WrongState(STRUCK)
    form = HandOverForm(request.POST or None)
    if submit_action(form, hand_to_driver, by=by, run=run, browser=digest_of(request)):
        return redirect("handed-over")
    title, back = "Hand the phone to the driver", reverse("run", args=[pk])
    answer = form_page(
        request, form, title=title, button="Hand it over", lead=LEAD, back=back, back_to="The run"
    )
    answer.status_code = 400 if form.errors else 200
    return answer


@login_required
def driver_page(request: HttpRequest) -> HttpResponse:
    """The pictures, for the driver alone; nothing of the run, the car or anybody."""
    row = handed_over(person(request), digest_of(request))
    if row is None:
        return redirect("start")
    run = _run_of(request, row)
    if run is None:
        return redirect("handed-over-back")
    form = AnswersForm(request.POST if request.method == "POST" else None)
    if form.is_valid() and form_action(
        form, note_driver_alone, by=person(request), run=run, answers=form.cleaned_data
    ):
        return redirect("handed-over-back")
    context = {
        "form": form,
        "asked": [(question, form.data.get(question.name)) for question in questions_to_driver()],
    }
    status = 400 if form.errors else 200
    return render(request, "cars/runs/driver_page.html", context, status=status)


def _run_of(request: HttpRequest, row: SignIn) -> Run | None:
    """The run that it was handed over for; None where nothing more can be said of it."""
    run = run_or_none(row.handed_over_for) if row.handed_over_for else None
    if run is None or run.struck_at is not None:
        return None
    return run if is_allowed(check_can_note_run, person(request), run) else None


@sensitive_post_parameters("code", "password")
@login_required
def give_back(request: HttpRequest) -> HttpResponse:
    """'Thank you, give the phone back', with a box for the code, or for the password by then."""
    by, browser = person(request), digest_of(request)
    row = handed_over(by, browser)
    if row is None:
        return redirect("start")
    opened = _opened_by_password if row.wrong_codes >= MOST_WRONG else _opened_by_code
    form, is_open = opened(request, browser)
    if is_open:
        run = _run_of(request, row)
        return redirect("run", pk=run.pk) if run else redirect("start")
    status = _status_of(form)
    wrong = (handed_over(by, browser) or row).wrong_codes
    if wrong >= MOST_WRONG and isinstance(form, CodeForm):
        form = PasswordForm(request=request)
    context = {
        "form": form,
        "asks_password": wrong >= MOST_WRONG,
        "wait": form.wait if isinstance(form, PasswordForm) and not form.is_bound else "",
        "can_say_more": _run_of(request, row) is not None,
    }
    return render(request, "cars/runs/give_back.html", context, status=status)


def _status_of(form: forms.BaseForm) -> int:
    if isinstance(form, PasswordForm) and form.is_shut_out:
        return 429
    return 400 if form.errors else 200


def _opened_by_code(request: HttpRequest, browser: str) -> tuple[forms.BaseForm, bool]:
    form = CodeForm(request.POST if request.method == "POST" else None)
    if not submit_action(form, give_back_by_code, by=person(request), browser=browser):
        return form, False
    if not form.outcome:
        form.add_error("code", "This is not the code. Give the phone back to whoever has it.")
    return form, bool(form.outcome)


def _opened_by_password(request: HttpRequest, browser: str) -> tuple[forms.BaseForm, bool]:
    by = person(request)
    form = PasswordForm(request.POST if request.method == "POST" else None, request=request)
    done = form.is_valid() and form_action(form, give_back_by_password, by=by, browser=browser)
    return form, done
