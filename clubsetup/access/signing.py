"""What the service says to the database, with proof that the service said it.

Whoever can run SQL as the restricted role can set any setting. So a setting that opens rows carries
a MAC over what it is for, the server process it is said to, and what is said: HMAC-SHA256 (RFC
2104) with a key that the role cannot read. A MAC seen in a log or in another process's statement is
worth nothing in this one.
"""

import hashlib
import hmac

from django.db import connection

from clubsetup.runtime.signing_key import signing_key

VIEWER = "viewer"
SIGNING_IN = "signing_in"
ACCOUNT = "account"


class KeyUnknown(Exception):
    """The database did not take what the service signed."""

    def __init__(self) -> None:
        super().__init__(
            "The database does not know this service's key. Run `manage.py migrate` with the same "
            "SECRET_KEY, and let no connection pooler stand in between."
        )


def signed(label: str, value: str) -> str:
    """The MAC in hex, a space, and the value; for this connection only."""
    connection.ensure_connection()
    process = connection.connection.info.backend_pid
    text = f"{label} {process} {value}".encode()
    return f"{hmac.new(signing_key(), text, hashlib.sha256).hexdigest()} {value}"
