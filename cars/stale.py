"""Which readings must be taken again, because something that they depend on was changed since."""

from collections.abc import Iterable, Mapping

from cars.adjusters import adjusters_at, touch
from cars.entries import Key
from cars.models import Change, Reading
from cars.queries.catalogue import Catalogue

# What a computed figure is computed from.
SOURCES = {
    "stagger": "circumference",
    "lead": "wheelbase",
    "total-weight": "weight",
    "left-share": "weight",
    "rear-share": "weight",
    "cross": "weight",
}


def makes_stale(change: Change, measure: str, step: str, spot: str, known: Catalogue) -> bool:
    """Whether a change calls for a reading of this measure, of this step, at this spot again."""
    return any(
        step in known.step(adjuster.step).makes_stale
        or (measure in adjuster.measures and touch(change.spot, spot))
        for adjuster in adjusters_at(change.adjuster, change.spot)
    )


def stale_readings(
    readings: Iterable[Reading], changes: Iterable[Change], known: Catalogue
) -> dict[Key, Change]:
    """The boxes to be read again, each with the first change that made it so.

    A reading is stale when a change was made after it was taken, in a step whose `makes_stale`
    names the reading's own step. Computed figures follow what they are computed from.
    """
    ordered = sorted(changes, key=lambda change: change.made_at)
    found: dict[Key, Change] = {}
    for reading in readings:
        measure = known.measures.get(reading.measure_id)
        if measure is None or reading.replaced_at is not None:
            continue
        for change in ordered:
            if change.made_at > reading.taken_at and makes_stale(
                change, measure.pk, measure.step_id, reading.spot, known
            ):
                _keep_first(found, Key(measure.pk, reading.spot), change)
                break
    return {**found, **_computed(found, known)}


def _keep_first(found: dict[Key, Change], key: Key, change: Change) -> None:
    if key not in found or change.made_at < found[key].made_at:
        found[key] = change


def _computed(stale: Mapping[Key, Change], known: Catalogue) -> dict[Key, Change]:
    found: dict[Key, Change] = {}
    for measure, source in SOURCES.items():
        for key, change in stale.items():
            if key.measure != source:
                continue
            for spot in known.measures[measure].spots:
                if touch(spot, key.spot):
                    _keep_first(found, Key(measure, spot), change)
    return found
