"""How people get an account, by invitation only, and how wrong passwords are counted."""

from typing import Any

from allauth.account.adapter import DefaultAccountAdapter
from allauth.account.utils import filter_users_by_email
from allauth.core.internal import ratelimit
from django import forms
from django.conf import settings
from django.core.exceptions import ImproperlyConfigured
from django.http import HttpRequest

from clubsetup.access.devices import has_signed_in_here, mark_of
from clubsetup.access.models import User
from clubsetup.access.viewer import (
    INVITATION,
    invitation_opens,
    set_local,
    sign_in_address,
    sign_in_person,
)

# The session's key for the digest of the link that was followed.
INVITED = "invitation"
SENT = "account/messages/email_confirmation_sent.txt"


class AccountAdapter(DefaultAccountAdapter):  # type: ignore[misc]
    """Sign-up is open only to somebody who came through an invitation's link."""

    def is_open_for_signup(self, request: HttpRequest) -> bool:
        """Whether this browser followed an invitation that would still let its holder in."""
        digest = request.session.get(INVITED, "")
        if not digest:
            return False
        set_local(INVITATION, digest)
        return invitation_opens()

    def clean_email(self, email: str) -> str:
        """From here on this form may ask whether the address is taken, and by whom."""
        address: str = super().clean_email(email)
        sign_in_address(address)
        return address

    def set_password(self, user: User, password: str) -> None:
        """The forms that come here have asked for the old password, or for the link of a reset."""
        sign_in_person(user.pk)
        super().set_password(user, password)

    def send_confirmation_mail(self, request: HttpRequest, *args: Any, **kwargs: Any) -> None:
        """A link that confirms an address, where mail leaves here."""
        if settings.MAIL_IS_SET_UP:
            super().send_confirmation_mail(request, *args, **kwargs)

    def add_message(self, request: HttpRequest, level: int, *args: Any, **kwargs: Any) -> None:
        """Never says that something was sent where nothing is."""
        if settings.MAIL_IS_SET_UP or SENT not in (*args, kwargs.get("message_template")):
            super().add_message(request, level, *args, **kwargs)

    def pre_authenticate(self, request: HttpRequest, **credentials: Any) -> None:
        """Counts wrong passwords; those of a device that the person knows by themselves."""
        sign_in_address(credentials.get("email", ""))
        for user in filter_users_by_email(credentials.get("email", "")):
            if has_signed_in_here(request, user):
                self._count_on_known_device(request, mark_of(user))
                return
        super().pre_authenticate(request, **credentials)

    def _count_on_known_device(self, request: HttpRequest, mark: str) -> None:
        self._login_failed_rl_usage = ratelimit.consume(
            request, app="allauth.account", action="login_failed_known_device", key=mark
        )
        if not self._login_failed_rl_usage:
            raise self.validation_error("too_many_login_attempts")

    def get_client_ip(self, request: HttpRequest) -> str:
        """The client's address; the nearest one known where a request came past the proxies."""
        try:
            return str(super().get_client_ip(request))
        except ImproperlyConfigured:
            return str(request.META["REMOTE_ADDR"])


class SignupForm(forms.Form):
    """Asks for the name that team mates will see."""

    name = forms.CharField(
        max_length=80, label="Your name", help_text="Shown to the people you work with."
    )

    def signup(self, request: HttpRequest, user: Any) -> None:
        """Keeps the name."""
        user.name = self.cleaned_data["name"]
        user.save(update_fields=["name"])
