"""Second factors: their secrets are sealed where they are kept.

What is sealed opens with the service's secret key, which is not in the database: a copy of the
database alone makes no one-time code and no recovery code.
"""

import base64
import logging
import secrets

from allauth.mfa.adapter import DefaultMFAAdapter
from allauth.mfa.models import Authenticator
from cryptography.fernet import Fernet, InvalidToken, MultiFernet
from cryptography.hazmat.primitives.hashes import SHA256
from cryptography.hazmat.primitives.kdf.hkdf import HKDF
from django.conf import settings

from clubsetup.access.models import User

log = logging.getLogger(__name__)
# HKDF (RFC 5869): a key for this purpose alone, so that no other use of the secret key opens it.
PURPOSE = b"clubsetup second factors 1"
STANDING = (Authenticator.Type.TOTP, Authenticator.Type.WEBAUTHN)


def _key(secret: str) -> Fernet:
    derived = HKDF(algorithm=SHA256(), length=32, salt=None, info=PURPOSE).derive(secret.encode())
    return Fernet(base64.urlsafe_b64encode(derived))


def keys() -> MultiFernet:
    """Seals with the secret key; opens what that one or one of before has sealed."""
    return MultiFernet([_key(k) for k in (settings.SECRET_KEY, *settings.SECRET_KEY_FALLBACKS)])


def has_second_factor(user: User) -> bool:
    """A code or a key asked for beside the password; recovery codes alone are none."""
    return bool(Authenticator.objects.filter(user_id=user.pk, type__in=STANDING).exists())


class SecondFactorAdapter(DefaultMFAAdapter):  # type: ignore[misc]
    """Seals what allauth keeps of one-time codes and recovery codes."""

    def encrypt(self, text: str) -> str:
        """Sealed, with the time of sealing."""
        return keys().encrypt(text.encode()).decode()

    def decrypt(self, encrypted_text: str) -> str:
        """Opened. What no key opens counts as a secret that nobody knows: no code fits it."""
        try:
            return keys().decrypt(encrypted_text.encode()).decode()
        except InvalidToken:
            log.warning("A second factor's secret opens with no key of this service.")
            return base64.b32encode(secrets.token_bytes(20)).decode()
