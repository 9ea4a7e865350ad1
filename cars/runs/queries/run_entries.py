"""What a run was entered for: asked of whoever keeps the entries, a floor above."""

from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass
from itertools import chain
from uuid import UUID

from clubsetup.site.contributions import contributed


@dataclass(frozen=True, slots=True)
class RunEntry:
    """The entry that a run belongs to, as people call it: 'June Meeting, number 27'."""

    entry: UUID
    text: str


Provider = Callable[[Collection[UUID]], Mapping[UUID, RunEntry]]
_providers: list[Provider] = []


def collect() -> None:
    """From what the apps list as `run_entries`."""
    _providers[:] = chain(*contributed("run_entries"))


def run_entries(runs: Collection[UUID]) -> dict[UUID, RunEntry]:
    """By the id of the run; none of a run that belongs to no entry. As many queries for one as for
    fifty."""
    found: dict[UUID, RunEntry] = {}
    for provider in _providers:
        found = {**provider(runs), **found}
    return found
