"""What is to be taken again on a sheet, and why."""

from dataclasses import dataclass

from cars.catalogue.keys import Key
from cars.catalogue.queries import catalogue
from cars.catalogue.staleness import stale_readings
from cars.figures.formatting import format_change
from cars.models import Reading, Sheet, Spot
from cars.models.catalogue import Taken
from cars.sheets.queries.changes import changes_of
from clubsetup.quantities.units import Units

SPOT_NAMES = dict(Spot.choices)


@dataclass(frozen=True, slots=True)
class Again:
    """One box to be taken again."""

    key: Key
    name: str  # 'Weight, left front'
    why: str  # 'spring seat LF +1/2 turn'
    is_check: bool


def to_take_again(sheet: Sheet, units: Units) -> list[Again]:
    """The readings and checks that something was changed after, in the order of work."""
    known = catalogue()
    rows = Reading.objects.current().filter(sheet=sheet)
    stale = stale_readings(rows, changes_of(sheet), known)
    boxes = []
    for measure in known.measures.values():
        if measure.taken == Taken.DERIVED:
            continue
        for spot in measure.spots:
            if causes := stale.get(key := Key(measure.pk, spot)):
                where = f", {str(SPOT_NAMES[spot]).lower()}" if len(measure.spots) > 1 else ""
                why = ", ".join(format_change(change, units) for change in causes)
                is_check = measure.taken == Taken.DONE
                boxes.append(Again(key, f"{measure.name}{where}", why, is_check))
    return boxes
