"""The key with which the service proves to the database that it speaks for somebody.

It is derived from the secret key and kept in the database where the restricted role cannot read
it. `migrate` brings it up to date, so a new secret key holds from the next start on.
"""

import hashlib
import hmac
from functools import lru_cache

from django.conf import settings
from django.db import connections

BLOCK = 64  # of SHA-256 (FIPS 180-4), which the two pads of HMAC fill (RFC 2104)


def signing_key() -> bytes:
    """Derived from the secret key under a label of its own, so that it tells nothing of it."""
    return _derived(settings.SECRET_KEY)


@lru_cache(maxsize=2)
def _derived(secret: str) -> bytes:
    return hmac.new(secret.encode(), b"who is looking", hashlib.sha256).digest()


def store_signing_key(alias: str) -> None:
    """The owner's part: the key's two pads, as the database needs them; nothing before 0006."""
    key = signing_key().ljust(BLOCK, b"\0")
    inner, outer = (bytes(one ^ pad for one in key) for pad in (0x36, 0x5C))
    with connections[alias].cursor() as cursor:
        cursor.execute("SELECT to_regclass('access.signing_key')")
        if cursor.fetchone()[0] is None:
            return
        cursor.execute(
            "INSERT INTO access.signing_key (id, inner_pad, outer_pad) VALUES (1, %s, %s) "
            "ON CONFLICT (id) DO UPDATE SET inner_pad = EXCLUDED.inner_pad, "
            "outer_pad = EXCLUDED.outer_pad WHERE signing_key.inner_pad <> EXCLUDED.inner_pad",
            [inner, outer],
        )
