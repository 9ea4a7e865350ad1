"""Which entries a run may be tied to: asked of whoever keeps the entries, a floor above."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import chain
from typing import Protocol
from uuid import UUID

from cars.models import Run
from clubsetup.access.models import User
from clubsetup.site.contributions import contributed
from teams.models import Track


@dataclass(frozen=True, slots=True)
class EntryOffered:
    """An entry of a car, as people call it, and the track of its event, where that is known."""

    entry: UUID
    text: str
    track: Track | None

    @property
    def with_track(self) -> str:
        """'June Meeting, number 27, Fernbank'."""
        return f"{self.text}, {self.track}" if self.track else self.text


class Tie(Protocol):
    """Ties a run to an entry of its car, or to none."""

    def __call__(self, *, by: User, run: Run, entry: UUID | None) -> object: ...


@dataclass(frozen=True, slots=True, kw_only=True)
class OfCar:
    """Which entries are asked for: a team's, of its car, from one day to another; and the one that
    a run is tied to, of whichever day and state."""

    car: UUID
    team: UUID
    first: date
    last: date
    tied: UUID | None = None


@dataclass(frozen=True, slots=True)
class EntriesOfCars:
    """What a person may tie a run of a car to, and how it is tied."""

    offered: Callable[[User, OfCar], Sequence[EntryOffered]]
    tie: Tie


_known: list[EntriesOfCars] = []


def collect() -> None:
    """From what the apps list as `entries_of_cars`."""
    _known[:] = chain(*contributed("entries_of_cars"))


def entries_offered(viewer: User, asked: OfCar) -> list[EntryOffered]:
    """The entries asked for that the viewer may tie a run to, or take it from."""
    return [each for one in _known for each in one.offered(viewer, asked)]


def tie_to_entry(*, by: User, run: Run, entry: UUID | None) -> None:
    """Ties the run to this entry of its car, or to none. Raises Invalid for one that is no such."""
    for one in _known:
        one.tie(by=by, run=run, entry=entry)
