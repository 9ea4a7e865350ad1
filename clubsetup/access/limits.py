"""How often one person may do what costs others: asking for prints, exports, invitations.

Counted in the shared cache by a window of fixed length, like the sign-in's limits. The API has a
limit of its own on all its operations (`REST_FRAMEWORK`).
"""

from django.conf import settings
from django.core.cache import cache

from clubsetup.access.errors import TooOften
from clubsetup.access.models import User


def count_against_limit(by: User, what: str) -> None:
    """Counts one more. Raises TooOften past the person's limit (settings.PERSON_LIMITS)."""
    most, seconds = settings.PERSON_LIMITS[what]
    key = f"limit:{what}:{by.pk}"
    cache.add(key, 0, seconds)
    try:
        count = cache.incr(key)
    except ValueError:  # the window ended between the two
        cache.set(key, 1, seconds)
        count = 1
    if count > most:
        raise TooOften(what, most, seconds)
