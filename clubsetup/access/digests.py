"""What is kept of a secret that opens something: enough to know it again, and not to use it."""

import hashlib


def digest(secret: str) -> str:
    """SHA-256 in hex; for secrets of many random bits alone, which nobody can guess through."""
    return hashlib.sha256(secret.encode()).hexdigest()
