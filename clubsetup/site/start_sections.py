"""The start page is made of sections that the rooms bring: each shows what a person came to do."""

from collections.abc import Callable
from dataclasses import dataclass, field
from enum import StrEnum
from itertools import chain, pairwise
from operator import attrgetter
from typing import Any

from django.core.exceptions import ImproperlyConfigured

from clubsetup.access.models import User
from clubsetup.site.contributions import contributed


class Place(StrEnum):
    """Where on a wide screen a section stands; on a phone what is beside comes after the rest."""

    MAIN = "main"
    BESIDE = "beside"


@dataclass(frozen=True)
class Section:
    """One section of the start page: a template and what it shows; what it would head the page.

    `lead` is said under that heading; `style` is a style sheet that the template needs.
    """

    template: str
    context: dict[str, Any] = field(default_factory=dict)
    heading: str = ""
    lead: str = ""
    place: Place = Place.MAIN
    style: str = ""


Build = Callable[[User], Section | None]


@dataclass(frozen=True)
class Builder:
    """Makes one section for a person; None for a person it has nothing for. Lower comes first."""

    order: int
    build: Build


_builders: list[Builder] = []


def section(order: int) -> Callable[[Build], Builder]:
    """Makes a function a builder. It stands in `SECTIONS` of its module, too."""
    return lambda build: Builder(order, build)


def collect() -> None:
    """From what the apps list as `start_sections`; two cannot want the same place."""
    builders = sorted(chain(*contributed("start_sections")), key=attrgetter("order"))
    for one, next_one in pairwise(builders):
        if one.order == next_one.order:
            raise ImproperlyConfigured(f"two start sections want place {one.order}")
    _builders[:] = builders


def sections_for(user: User) -> list[Section]:
    """What this person's start page shows, in order."""
    sections = (builder.build(user) for builder in _builders)
    return [s for s in sections if s is not None]
