"""What slices above say of a car, on its page and at the bench."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import chain
from typing import Any
from uuid import UUID

from cars.models import Step
from clubsetup.access.models import User
from clubsetup.site.contributions import contributed


@dataclass(frozen=True, slots=True)
class CarSection:
    """A template and the lines it shows."""

    template: str
    lines: Sequence[Any]


# Of a car, the team whose page it is, the viewer, and the step of the bench; None on the page of
# the car.
Build = Callable[[UUID, UUID, User, Step | None], CarSection | None]

_known: list[Build] = []


def collect() -> None:
    """From what the apps list as `car_sections`."""
    _known[:] = chain(*contributed("car_sections"))


def car_sections(car: UUID, team: UUID, viewer: User, step: Step | None = None) -> list[CarSection]:
    """All that have something to say, in the order of the floors."""
    built = (build(car, team, viewer, step) for build in _known)
    return [section for section in built if section is not None]
