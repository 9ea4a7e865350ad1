"""What is to be taken again on a sheet, and why."""

from dataclasses import dataclass

from cars.entries import Key
from cars.models import Reading, Sheet, Spot
from cars.models.catalogue import Taken
from cars.queries.catalogue import catalogue
from cars.queries.changes import changes_of
from cars.stale import stale_readings
from cars.wording import change_said
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
    rows = Reading.objects.filter(sheet=sheet, replaced_at__isnull=True)
    stale = stale_readings(rows, changes_of(sheet), known)
    found = []
    for measure in known.measures.values():
        if measure.taken == Taken.DERIVED:
            continue
        for spot in measure.spots:
            if causes := stale.get(key := Key(measure.pk, spot)):
                where = f", {str(SPOT_NAMES[spot]).lower()}" if len(measure.spots) > 1 else ""
                why = ", ".join(change_said(change, units) for change in causes)
                is_check = measure.taken == Taken.DONE
                found.append(Again(key, f"{measure.name}{where}", why, is_check))
    return found
