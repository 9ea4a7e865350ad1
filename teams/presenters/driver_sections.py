"""What apps above say of a driver, on the driver's page."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import chain
from typing import Any

from clubsetup.access.models import User
from clubsetup.site.contributions import contributed
from teams.models import Driver


@dataclass(frozen=True, slots=True)
class DriverSection:
    """A template and the lines it shows."""

    template: str
    lines: Sequence[Any]


Build = Callable[[Driver, User], DriverSection | None]

_known: list[Build] = []


def collect() -> None:
    """From what the apps list as `driver_sections`."""
    _known[:] = chain(*contributed("driver_sections"))


def driver_sections(driver: Driver, viewer: User) -> list[DriverSection]:
    """All that have something to say, in the order of the floors."""
    built = (build(driver, viewer) for build in _known)
    return [section for section in built if section is not None]
