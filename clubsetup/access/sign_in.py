"""The sign-in form, in our words."""

from typing import Any

from allauth.account.forms import LoginForm


class SignInForm(LoginForm):  # type: ignore[misc]
    """Says what its box does: many people share a tablet at the track."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["remember"].label = "Keep me signed in on this device"
