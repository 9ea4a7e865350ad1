"""What an action says when it will not."""

from collections.abc import Callable, Mapping
from types import MappingProxyType

from django.core.exceptions import PermissionDenied


class NotAllowed(PermissionDenied):
    """The person may see this but may not do that to it. The message is for them."""


class WrongState(Exception):
    """It can be done, but not now. The message says why and what to do instead.

    `more` is what a program needs beside the message, plain enough for JSON.
    """

    more: Mapping[str, object] = MappingProxyType({})


class Invalid(Exception):
    """What was given cannot be kept. `field` names it; the message says how to mend it.

    `more` is what a program needs beside the message, plain enough for JSON.
    """

    def __init__(
        self, field: str, message: str, more: Mapping[str, object] = MappingProxyType({})
    ) -> None:
        super().__init__(message)
        self.field = field
        self.message = message
        self.more = more


class NoSuchPage(Invalid):
    """A list was asked for a page that it does not have; `field` is what its address asks with."""

    def __init__(self, field: str = "before") -> None:
        super().__init__(field, "This list has no such page. Open the list again: it begins there.")


class TooOften(Exception):
    """The person has done it as often as one may in a while; nothing was done."""

    def __init__(self, what: str, most: int, seconds: int) -> None:
        minutes = seconds // 60
        super().__init__(
            f"That is more than {most} {what} in {minutes} minutes. "
            f"Nothing was done; try again in {minutes} minutes at the latest."
        )
        self.seconds = seconds


def is_allowed(check: Callable[..., None], *args: object) -> bool:
    """`check_can_x(...)` as a bool, so that a button and its enforcement are one rule."""
    try:
        check(*args)
    except NotAllowed:
        return False
    return True
