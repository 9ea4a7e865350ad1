"""What is told by letter: every change of a password, an address, a passkey or a one-time code."""

from typing import Any

from allauth.account import signals
from allauth.account.models import EmailAddress
from allauth.mfa import signals as factors
from allauth.mfa.models import Authenticator

from clubsetup.access.models import User
from clubsetup.access.notices import tell

NAMES = {
    Authenticator.Type.TOTP: "One-time codes from an app",
    Authenticator.Type.WEBAUTHN: "A passkey or security key",
    Authenticator.Type.RECOVERY_CODES: "The recovery codes",
}


def _password(user: User, **_: Any) -> None:
    tell(user, "Your password was changed.")


def _address_added(user: User, email_address: EmailAddress, **_: Any) -> None:
    tell(user, f"An address was added: {email_address.email}.", but=[email_address.email])


def _address_confirmed(email_address: EmailAddress, **_: Any) -> None:
    words = f"An address was confirmed, and can be written to: {email_address.email}."
    tell(email_address.user, words, but=[email_address.email])


def _first_address(user: User, to_email_address: EmailAddress, **_: Any) -> None:
    tell(user, f"The address that you sign in with is now {to_email_address.email}.")


def _address_removed(user: User, email_address: EmailAddress, **_: Any) -> None:
    gone = [email_address.email] if email_address.verified else []
    tell(user, f"An address was removed: {email_address.email}.", also=gone)


def _factor_added(user: User, authenticator: Authenticator, **_: Any) -> None:
    tell(user, f"{NAMES[authenticator.type]} can be used from now on.")


def _factor_removed(user: User, authenticator: Authenticator, **_: Any) -> None:
    tell(user, f"{NAMES[authenticator.type]} cannot be used any more.")


def _factor_reset(user: User, authenticator: Authenticator, **_: Any) -> None:
    tell(user, f"{NAMES[authenticator.type]} were made anew; those of before open nothing.")


def connect() -> None:
    """To the signals of the sign-in library."""
    signals.password_changed.connect(_password)
    signals.password_set.connect(_password)
    signals.password_reset.connect(_password)
    signals.email_added.connect(_address_added)
    signals.email_confirmed.connect(_address_confirmed)
    signals.email_changed.connect(_first_address)
    signals.email_removed.connect(_address_removed)
    factors.authenticator_added.connect(_factor_added)
    factors.authenticator_removed.connect(_factor_removed)
    factors.authenticator_reset.connect(_factor_reset)
