"""How many proxies are believed when they say whose request it is."""

MOST = 5


def trusted_proxies(given: str, *, https: bool) -> int:
    """The number of proxies in front that add an address to X-Forwarded-For.

    Not given it is 1 where TLS stands in front and 0 elsewhere. Raises ValueError for a number
    that cannot be right.
    """
    if not given:
        return 1 if https else 0
    if not given.isdecimal() or int(given) > MOST:
        raise ValueError(f"give the number of proxies in front, 0 to {MOST}, not {given!r}.")
    if https and int(given) == 0:
        raise ValueError("CLUBSETUP_HTTPS=1 says that TLS stands in front, so there is at least 1.")
    return int(given)
