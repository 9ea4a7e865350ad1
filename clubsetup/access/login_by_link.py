"""Accounts that are reached by a link from a mail, or by a passkey: whose it is stands in them.

That opens the account to the sign-in code for this one request, as an address that somebody types
does. Whether the link or the passkey holds is then for that code to say.
"""

from contextlib import suppress
from typing import Any

from allauth.account.app_settings import EMAIL_CONFIRMATION_EXPIRE_DAYS, SALT
from allauth.account.utils import url_str_to_user_pk
from allauth.mfa.webauthn.forms import LoginWebAuthnForm
from allauth.mfa.webauthn.internal.auth import parse_authentication_response
from django.core import signing
from django.core.exceptions import ValidationError
from django.http import HttpRequest
from fido2.utils import websafe_decode

from clubsetup.access.viewer import sign_in_address_row, sign_in_person

DAY = 60 * 60 * 24


def reach(request: HttpRequest, kwargs: dict[str, Any]) -> None:
    """Opens the account of a reset link or of a link that confirms an address."""
    match = request.resolver_match
    name = match.url_name if match else None
    if name == "account_reset_password_from_key":
        _open(kwargs.get("uidb36", ""))
    elif name == "account_confirm_email":
        try:
            most = DAY * EMAIL_CONFIRMATION_EXPIRE_DAYS
            sign_in_address_row(int(signing.loads(kwargs["key"], max_age=most, salt=SALT)))
        except (signing.BadSignature, ValueError, TypeError):
            return


def _open(pk: str) -> None:
    try:
        sign_in_person(url_str_to_user_pk(pk))
    except (ValidationError, ValueError):
        return


class PasskeyForm(LoginWebAuthnForm):  # type: ignore[misc]
    """A passkey alone: the device says whose it is."""

    def clean_credential(self) -> Any:
        """Opens the account that the passkey names, then checks it."""
        credential = self.cleaned_data["credential"]
        parse_authentication_response(credential)
        with suppress(KeyError, TypeError, ValueError):
            _open(websafe_decode(credential["response"]["userHandle"]).decode("utf8"))
        return super().clean_credential()
