"""Counting how often something was done in a while, across all web processes.

One row of a table each, by one statement on a connection of its own: outside the request's
transaction, so that a request that is refused counts too, and two requests of one person do not
wait for each other. Where CACHE_URL names a Redis that several machines share, it counts there.
"""

from typing import NamedTuple

from django.conf import settings
from django.core.cache import cache
from django.db import connections

ALIAS = "counts"


class Counted(NamedTuple):
    """How often by now, and when the counting begins anew."""

    times: int
    seconds_left: int


def count_one(what: str, seconds: int) -> Counted:
    """Counts one more of `what`; its while begins with the first one and ends after `seconds`."""
    return _in_cache(what, seconds) if settings.COUNTS_IN_CACHE else _in_table(what, seconds)


def forget_old_counts() -> int:
    """Removes what is counted no more; how much it was."""
    if settings.COUNTS_IN_CACHE:
        return 0
    with connections[ALIAS].cursor() as cursor:
        cursor.execute("SELECT access.forget_old_counts()")
        return int(cursor.fetchone()[0])


def _in_table(what: str, seconds: int) -> Counted:
    with connections[ALIAS].cursor() as cursor:
        cursor.execute("SELECT * FROM access.count_one(%s, %s)", [what, seconds])
        return Counted._make(cursor.fetchone())


def _in_cache(what: str, seconds: int) -> Counted:
    key = f"limit:{what}"
    cache.add(key, 0, seconds)
    try:
        return Counted(cache.incr(key), seconds)
    except ValueError:  # the while ended between the two
        cache.set(key, 1, seconds)
        return Counted(1, seconds)
