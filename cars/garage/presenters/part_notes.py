"""What slices above say of a team's parts, on the list of them: how long each has run."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from itertools import chain
from uuid import UUID

from cars.models import Part
from clubsetup.site.contributions import contributed
from teams.models import Team


@dataclass(frozen=True, slots=True)
class PartNote:
    """A line of a part, what there is to look out for, and the page that tells more."""

    says: str
    address: str  # the name of a page that takes the part's id
    warns: str = ""


Build = Callable[[Sequence[Part], Team], Mapping[UUID, PartNote]]

_known: list[Build] = []


def collect() -> None:
    """From what the apps list as `part_notes`."""
    _known[:] = chain(*contributed("part_notes"))


def part_notes(parts: Sequence[Part], team: Team) -> dict[UUID, list[PartNote]]:
    """What is said of each of these parts of one team, in the order of the floors."""
    notes: dict[UUID, list[PartNote]] = {part.pk: [] for part in parts}
    for build in _known:
        for part, note in build(parts, team).items():
            notes[part].append(note)
    return notes
