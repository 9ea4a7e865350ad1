"""How often one person may do what costs others: asking for prints, exports, invitations.

The API has a limit of its own on all its operations (`access/api/throttle.py`).
"""

from django.conf import settings

from clubsetup.access.counts import count_one
from clubsetup.access.errors import TooOften
from clubsetup.access.models import User


def count_against_limit(by: User, what: str) -> None:
    """Counts one more. Raises TooOften past the person's limit (settings.PERSON_LIMITS)."""
    most, seconds = settings.PERSON_LIMITS[what]
    if count_one(f"{what}:{by.pk}", seconds).times > most:
        raise TooOften(what, most, seconds)
