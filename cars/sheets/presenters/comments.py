"""What was written and turned beside a sheet's readings, as people say it."""

from dataclasses import dataclass
from datetime import datetime

from cars.figures.formatting import format_change
from cars.models import Comment, Sheet
from cars.sheets.presenters.at_track import AtTrackLines, at_track_lines
from clubsetup.quantities.units import Units


@dataclass(frozen=True)
class ChangeLine:
    """A change as people say it: spring seat LF +1/2 turn."""

    text: str
    by: str
    at: datetime


@dataclass(frozen=True)
class SheetRemarks:
    """What was written beside a sheet's readings."""

    comments: list[Comment]
    changes: list[ChangeLine]
    at_track: AtTrackLines | None = None


def comments_of(sheet: Sheet, units: Units) -> SheetRemarks:
    """Comments and changes, oldest first, in the reader's units."""
    changes = [
        ChangeLine(format_change(row, units), str(row.by), row.created_at)
        for row in sheet.changes.current().select_related("by", "piece")
    ]
    comments = list(sheet.comments.select_related("by"))
    return SheetRemarks(comments, changes, at_track_lines(sheet, units))
