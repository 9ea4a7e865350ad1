"""Taking what was typed into boxes, each by itself.

Each box comes with the id of the reading that the person saw there, so that what two people write
in the same box at once is put to them and not lost.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from uuid import UUID

from django.utils import timezone

from cars.catalogue.keys import Key
from cars.figures.box_entries import read_entry
from cars.models import Measure, Reading, Sheet
from cars.sheets.actions.conflicts import EditConflict, standing_in
from cars.sheets.actions.readings import take_readings
from cars.sheets.actions.replacing import replace_reading
from clubsetup.access.errors import WrongState
from clubsetup.access.models import User
from clubsetup.quantities.errors import QuantityError
from clubsetup.quantities.units import Units

MOST = 300  # more than a sheet has boxes
LONGEST_WAIT = timedelta(days=30)


@dataclass(frozen=True, slots=True)
class BoxInput:
    """One box as it was sent."""

    key: Key
    text: str
    seen: UUID | None
    reading_id: UUID | None = None
    taken_at: datetime | None = None
    again: bool = False  # read again, and it may say the same


@dataclass(slots=True)
class BoxResult:
    """What came of one box: why it could not be kept, and the reading that stands in any case."""

    sent: BoxInput
    standing: Reading | None = None
    wrong: str = ""
    conflict: EditConflict | None = None
    refused: str = ""

    @property
    def status(self) -> str:
        """In a word, for the page's script."""
        return (
            ("wrong" if self.wrong else "")
            or ("conflict" if self.conflict else "")
            or ("refused" if self.refused else "saved")
        )


def save_boxes(
    by: User, sheet: Sheet, sent: Iterable[BoxInput], known: Mapping[str, Measure]
) -> list[BoxResult]:
    """Takes each box by itself: what is wrong with one does not hold up the others."""
    units = by.units(sheet.team.club.units())
    return [_save(by, sheet, one, known, units) for one in sent]


def save_together(
    by: User, sheet: Sheet, sent: Sequence[BoxInput], known: Mapping[str, Measure]
) -> dict[Key, str]:
    """Takes all boxes as read just now, or none of them: what is wrong with each, then.

    Raises WrongState where the sheet is closed.
    """
    units = by.units(sheet.team.club.units())
    entries, wrong = [], {}
    for one in sent:
        try:
            entries.append(read_entry(known[one.key.measure], one.key, one.text, units))
        except QuantityError as refusal:
            wrong[one.key] = refusal.message
    if wrong:
        return wrong
    seen = {one.key: one.seen for one in sent}
    try:
        take_readings(by=by, sheet=sheet, entries=entries, seen=seen, anew=True)
    except EditConflict as conflict:
        text = next(one.text for one in sent if one.key == conflict.key)
        return {conflict.key: conflict_message(conflict, by, text)}
    return {}


def save_box(
    by: User, sheet: Sheet, sent: BoxInput, known: Mapping[str, Measure], units: Units
) -> Reading | None:
    """Takes one box and returns what stands there then.

    Raises KeyError for a measure nobody knows, QuantityError for text that cannot be read,
    EditConflict where somebody else wrote there, WrongState where the sheet is closed.
    """
    measure = known[sent.key.measure]
    entry = read_entry(measure, sent.key, sent.text, units, sent.reading_id)
    entry = replace(entry, taken_at=sent.taken_at)
    return replace_reading(by=by, sheet=sheet, entry=entry, seen=sent.seen, again=sent.again)


def _save(
    by: User, sheet: Sheet, sent: BoxInput, known: Mapping[str, Measure], units: Units
) -> BoxResult:
    result = BoxResult(sent)
    try:
        result.standing = save_box(by, sheet, sent, known, units)
    except KeyError:
        result.refused = "There is no such measure any more."
    except QuantityError as refusal:
        result.wrong = refusal.message
    except EditConflict as conflict:
        result.conflict = conflict
    except WrongState as refusal:
        result.refused = str(refusal)
    if result.wrong or result.refused:
        result.standing = standing_in(sheet, sent.key)
    return result


def conflict_message(conflict: EditConflict, viewer: User, text: str) -> str:
    """'Jonah wrote 2 3/8 a moment ago; you typed 2 1/4.'"""
    mine = f"you typed {text}" if text else "you emptied it"
    if conflict.by is None:
        who = "Somebody"
    else:
        who = "You yourself, on another page," if conflict.by == viewer else str(conflict.by)
    if conflict.standing is None:
        return f"{who} emptied this box meanwhile; {mine}."
    when = _ago(timezone.now() - conflict.standing.created_at)
    return f"{who} wrote {conflict.standing.typed} {when}; {mine}."


def _ago(gone: timedelta) -> str:
    minutes = int(gone.total_seconds() // 60)
    if minutes < 2:
        return "a moment ago"
    return f"{minutes} minutes ago" if minutes < 60 else "earlier"
