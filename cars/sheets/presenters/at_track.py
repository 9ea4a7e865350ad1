"""What was changed at the track before a car was found, as people say it."""

from dataclasses import dataclass

from cars.catalogue.keys import Key
from cars.catalogue.queries import Catalogue, catalogue
from cars.figures.formatting import format_kept_change
from cars.models import Sheet
from cars.models.catalogue import Taken
from cars.sheets.queries.at_track import ChangedAtTrack, changed_before
from clubsetup.quantities.units import Units


@dataclass(frozen=True, slots=True)
class AtTrackLines:
    """`changes`: 'spring seat RF +1/2 turn'; `again`: names of measures that they touched."""

    since: Sheet
    changes: list[str]
    again: list[str]


def at_track_lines(sheet: Sheet, units: Units) -> AtTrackLines | None:
    """Of a sheet as found that comes after changes at the track; None of others."""
    changed = changed_before(sheet)
    return lines_of(changed, units, catalogue()) if changed else None


def lines_of(changed: ChangedAtTrack, units: Units, known: Catalogue) -> AtTrackLines | None:
    """None where things were read again and nothing was changed."""
    if not changed.changes:
        return None
    return AtTrackLines(
        since=changed.since,
        changes=[
            format_kept_change(one.adjuster, one.spot, one.amount, one.unit, units)
            for one in changed.changes
        ],
        again=[
            measure.name
            for measure in known.measures.values()
            if measure.taken != Taken.DERIVED
            and any(changed.touches(Key(measure.pk, spot), known) for spot in measure.spots)
        ],
    )
