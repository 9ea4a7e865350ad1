"""The start page is made of sections that the rooms bring: each shows what a person came to do."""

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

from clubsetup.access.models import User


@dataclass(frozen=True)
class Section:
    """One section of the start page: a template, what it shows, and what it would head the page."""

    template: str
    context: dict[str, Any] = field(default_factory=dict)
    heading: str = ""


Builder = Callable[[User], Section | None]
_builders: dict[int, Builder] = {}


def section(order: int) -> Callable[[Builder], Builder]:
    """Registers a builder; it returns None for a person it has nothing for. Lower comes first."""

    def keep(builder: Builder) -> Builder:
        if order in _builders and _builders[order] is not builder:
            raise ValueError(f"two start sections want place {order}")
        _builders[order] = builder
        return builder

    return keep


def sections_for(user: User) -> list[Section]:
    """What this person's start page shows, in order."""
    found = (_builders[order](user) for order in sorted(_builders))
    return [s for s in found if s is not None]
