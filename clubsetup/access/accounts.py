"""How people get an account: by invitation only."""

from typing import Any

from allauth.account.adapter import DefaultAccountAdapter
from django import forms
from django.http import HttpRequest

from clubsetup.access.viewer import INVITATION, invitation_opens, set_local

# The session's key for the digest of the link that was followed.
INVITED = "invitation"


class AccountAdapter(DefaultAccountAdapter):  # type: ignore[misc]
    """Sign-up is open only to somebody who came through an invitation's link."""

    def is_open_for_signup(self, request: HttpRequest) -> bool:
        """Whether this browser followed an invitation that would still let its holder in."""
        digest = request.session.get(INVITED, "")
        if not digest:
            return False
        set_local(INVITATION, digest)
        return invitation_opens()


class SignupForm(forms.Form):
    """Asks for the name that team mates will see."""

    name = forms.CharField(
        max_length=80, label="Your name", help_text="Shown to the people you work with."
    )

    def signup(self, request: HttpRequest, user: Any) -> None:
        """Keeps the name."""
        user.name = self.cleaned_data["name"]
        user.save(update_fields=["name"])
