"""The form for a new passkey, in our words."""

from typing import Any

from allauth.mfa.webauthn.forms import AddWebAuthnForm


class AddPasskeyForm(AddWebAuthnForm):  # type: ignore[misc]
    """A passkey signs in by itself unless somebody wants it as a second step only."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        kwargs.setdefault("initial", {}).setdefault("name", "This device")
        super().__init__(*args, **kwargs)
        self.fields["name"].label = "What you call it"
        alone = self.fields["passwordless"]
        alone.label = "Sign in with it alone"
        alone.help_text = (
            "The device then asks for its own lock: a finger, a face or a PIN. "
            "Without the tick it is a second step after the password."
        )
        alone.initial = True
