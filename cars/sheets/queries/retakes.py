"""What is to be taken again on a sheet, and why."""

from dataclasses import dataclass

from cars.catalogue.keys import Key
from cars.catalogue.queries import cached_catalogue
from cars.catalogue.staleness import stale_readings
from cars.models import Change, Measure, Reading, Sheet
from cars.models.catalogue import Taken
from cars.sheets.queries.changes import changes_of


@dataclass(frozen=True, slots=True)
class Retake:
    """One box to be taken again, and what was changed since."""

    measure: Measure
    spot: str
    causes: tuple[Change, ...]

    @property
    def key(self) -> Key:
        return Key(self.measure.pk, self.spot)


def to_take_again(sheet: Sheet) -> list[Retake]:
    """The readings and checks that something was changed after, in the order of work."""
    known = cached_catalogue()
    rows = Reading.objects.current().filter(sheet=sheet)
    stale = stale_readings(rows, changes_of(sheet), known)
    return [
        Retake(measure, spot, tuple(causes))
        for measure in known.measures.values()
        if measure.taken != Taken.DERIVED
        for spot in measure.spots
        if (causes := stale.get(Key(measure.pk, spot)))
    ]
