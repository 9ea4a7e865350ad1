"""How long somebody waits whose password was typed wrong too often."""

import math
from typing import Any

from allauth.account.adapter import get_adapter
from allauth.core.internal import ratelimit
from django.core.cache import cache
from django.http import HttpRequest

from clubsetup.access.devices import has_signed_in_here, mark_of
from clubsetup.access.models import User

APP = "allauth.account"
MINUTE = 60


def seconds_shut_out(request: HttpRequest, user: User) -> float:
    """Until a password of this person is looked at again on this device; 0 where it is now."""
    action, key = "login_failed_known_device", mark_of(user)
    if not has_signed_in_here(request, user):
        adapter: Any = get_adapter(request)
        action = "login_failed"
        key = adapter._get_login_attempts_cache_key(request, email=user.email)
    # By the clock that they were counted by.
    now, waits = ratelimit.time.time(), [0.0]
    for rate in ratelimit.get_rates(app=APP, action=action):
        name = ratelimit.get_cache_key(request, app=APP, action=action, rate=rate, key=key)
        ends = sorted(typed + rate.duration for typed in cache.get(name, []))
        ends = [end for end in ends if end > now]
        if len(ends) >= rate.amount:
            waits.append(ends[len(ends) - rate.amount] - now)
    return max(waits)


def too_many_tries(seconds: float) -> str:
    """'Too many wrong tries. Try again in 5 minutes.'"""
    minutes = max(1, math.ceil(seconds / MINUTE))
    return f"Too many wrong tries. Try again in {minutes} minute{'s' if minutes > 1 else ''}."
