"""Passwords forgotten and changed."""

from typing import Any

from allauth.account.forms import ChangePasswordForm, ResetPasswordForm
from django import forms
from django.conf import settings

from clubsetup.access.account import end_my_tokens
from clubsetup.access.models import User
from clubsetup.access.notices import addresses_of

NO_MAIL = "No mail leaves this service, so no link can be sent. Ask for a code instead."


class ForgottenForm(ResetPasswordForm):  # type: ignore[misc]
    """A link goes to an address that its person has confirmed, and to no other."""

    users: list[User]

    def clean_email(self) -> str:
        """Says nothing of who has an account; whom a letter goes to is in `users`."""
        if not settings.MAIL_IS_SET_UP:
            raise forms.ValidationError(NO_MAIL)
        email: str = super().clean_email()
        self.users = [user for user in self.users if has_confirmed(user, email)]
        return email


def has_confirmed(user: User, email: str) -> bool:
    """That person has shown that letters to exactly this address reach them."""
    return email.lower() in map(str.lower, addresses_of(user))


class NewPasswordForm(ChangePasswordForm):  # type: ignore[misc]
    """Changing the password ends the tokens too, unless somebody wants to keep them."""

    keep_tokens = forms.BooleanField(
        required=False,
        label="Keep my tokens",
        help_text="Without the tick, programs of yours are refused until you give them new tokens.",
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.order_fields(["oldpassword", "password1", "password2", "keep_tokens"])

    def save(self) -> None:
        """The new password, and the end of what the old one opened."""
        super().save()
        if not self.cleaned_data["keep_tokens"]:
            end_my_tokens(by=self.user)
