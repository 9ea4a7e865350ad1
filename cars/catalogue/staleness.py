"""Which readings must be taken again, because something that they depend on was changed since."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Protocol

from cars.catalogue.adjusters import adjusters_at, touch
from cars.catalogue.keys import Key
from cars.catalogue.queries import Catalogue
from cars.models import Change
from cars.models.catalogue import Spot

# What a computed figure is computed from.
SOURCES = {
    "stagger": "circumference",
    "lead": "wheelbase",
    "total-weight": "weight",
    "left-share": "weight",
    "rear-share": "weight",
    "cross": "weight",
}


class TakenReading(Protocol):
    """What is asked of a reading here: a row, or a few columns of one."""

    @property
    def measure_id(self) -> str: ...
    @property
    def spot(self) -> str: ...
    @property
    def taken_at(self) -> datetime: ...
    @property
    def replaced_at(self) -> datetime | None: ...


class NotedChange(Protocol):
    """What is asked of a change here: a row, or a few columns of one."""

    @property
    def adjuster(self) -> str: ...
    @property
    def spot(self) -> str: ...


@dataclass(frozen=True, slots=True)
class Touched:
    """What a change makes stale: readings of these steps, and of these measures where it was."""

    steps: frozenset[str]
    measures: frozenset[str]
    spot: str

    def holds(self, measure: str, step: str, spot: str) -> bool:
        """Whether a reading of this measure, of this step, at this spot is among them."""
        return step in self.steps or (measure in self.measures and touch(self.spot, spot))


def touched_by(change: NotedChange, known: Catalogue) -> Touched:
    """Asked once for a change: a sheet has a hundred readings to be held against it."""
    adjusters = adjusters_at(change.adjuster, change.spot)
    return Touched(
        frozenset(step for each in adjusters for step in known.step(each.step).makes_stale),
        frozenset(measure for each in adjusters for measure in each.measures),
        change.spot,
    )


def makes_stale(change: NotedChange, measure: str, step: str, spot: str, known: Catalogue) -> bool:
    """Whether a change calls for a reading of this measure, of this step, at this spot again."""
    return touched_by(change, known).holds(measure, step, spot)


def _in_order(changes: Iterable[Change]) -> list[Change]:
    """The first one first; of those made in one action, the left front one first."""
    return sorted(changes, key=lambda change: (change.made_at, Spot.values.index(change.spot)))


def stale_readings(
    readings: Iterable[TakenReading], changes: Iterable[Change], known: Catalogue
) -> dict[Key, tuple[Change, ...]]:
    """The boxes to be read again, each with every change that made it so, the first one first.

    A reading is stale when a change was made after it was taken, in a step whose `makes_stale`
    names the reading's own step. Computed figures follow what they are computed from.
    """
    ordered = [(change, touched_by(change, known)) for change in _in_order(changes)]
    stale: dict[Key, list[Change]] = {}
    for reading in readings:
        measure = known.measures.get(reading.measure_id)
        if measure is None or reading.replaced_at is not None:
            continue
        since = [
            change
            for change, touched in ordered
            if change.made_at > reading.taken_at
            and touched.holds(measure.pk, measure.step_id, reading.spot)
        ]
        if since:
            stale.setdefault(Key(measure.pk, reading.spot), []).extend(since)
    for key, causes in _computed(stale, known).items():
        stale.setdefault(key, []).extend(causes)
    return {key: each_once(causes) for key, causes in stale.items()}


def each_once(causes: Iterable[Change]) -> tuple[Change, ...]:
    """Several takes and several sources name the same change; in the order they were made."""
    unlike = {change.pk: change for change in causes}
    return tuple(_in_order(unlike.values()))


def follows(measure: str, spot: str, key: Key) -> bool:
    """Whether the computed figure at a spot is computed from the box `key`."""
    return SOURCES.get(measure) == key.measure and touch(spot, key.spot)


def _computed(stale: Mapping[Key, list[Change]], known: Catalogue) -> dict[Key, list[Change]]:
    computed: dict[Key, list[Change]] = {}
    for measure, source in SOURCES.items():
        for key, causes in stale.items():
            if key.measure != source:
                continue
            for spot in known.measures[measure].spots:
                if follows(measure, spot, key):
                    computed.setdefault(Key(measure, spot), []).extend(causes)
    return computed
