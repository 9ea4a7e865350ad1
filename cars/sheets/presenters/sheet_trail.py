"""Everything that happened to a sheet, in words."""

from dataclasses import dataclass
from datetime import datetime

from cars.models import Reading, Sheet
from cars.sheets.queries.sheets import done_to, readings_ever


@dataclass(frozen=True)
class SheetEvent:
    """One thing that happened to a sheet."""

    at: datetime
    by: str
    what: str
    old: bool = False  # a reading that another has replaced
    read_by: str = ""  # who had read a figure that was carried over
    read_at: datetime | None = None


DONE = {
    "opened": "opened the sheet",
    "headed": "changed date, driver or fuel",
    "closed": "closed the sheet",
    "corrected": "made this version",
    "commented": "wrote a comment",
    "changed": "noted a change",
    "accepted": "accepted a turn plan",
    "turned rods": "turned the radius rods as worked out",
    "set marks": "set the block marks",
    "fitted": "said which part is on a corner",
    "unfitted": "said that no part of the team's is on a corner",
}


def sheet_trail(sheet: Sheet) -> list[SheetEvent]:
    """Everything that happened, oldest first: all readings ever taken, and what else was done.

    Readings are seen by whoever sees the sheet; the trail's own lines by the team.
    """
    lines = [line for row in readings_ever(sheet) for line in _reading_lines(row)]
    for row in done_to(sheet):
        reason = row.detail.get("reason")
        what = DONE.get(row.did, row.did) + (f": {reason}" if reason else "")
        lines.append(SheetEvent(row.created_at, str(row.by), what))
    return sorted(lines, key=lambda line: line.at)


def _reading_lines(row: Reading) -> list[SheetEvent]:
    spot = "" if row.spot == "car" else f" {row.spot}"
    take = f" (take {row.take})" if row.take > 1 else ""
    figure = f"{row.measure.name}{spot}{take}: {row.typed}"
    old = row.replaced_at is not None
    lines = [SheetEvent(row.created_at, str(row.by), figure, old=old)]
    if row.carried_from_id:
        text = f"carried over, not read: {figure}"
        carried = (row.created_at, str(row.sheet.opened_by), text)
        lines = [SheetEvent(*carried, old=old, read_by=str(row.by), read_at=row.taken_at)]
    if row.replaced_at is not None:
        lines.append(SheetEvent(row.replaced_at, str(row.replaced_by), f"took back {figure}"))
    return lines
