"""Where targets come from, as people read it."""

from cars.models import Sheet
from cars.sheets.queries.targets import TargetSource
from clubsetup.clock.writing import day


def source_name(source: TargetSource) -> str:
    """'our own targets, then Marl 2026 paved'; of a sheet with its track."""
    if source.sheet is not None:
        return _with_track(str(source.sheet), source.sheet)
    named = [*(["our own targets"] if source.own else []), str(source.baseline or "")]
    return ", then ".join(filter(None, named)) or "nothing yet"


def choice_name(source: TargetSource) -> str:
    """As one of those that a new sheet may go by."""
    if source.sheet is None:
        own = "Our own targets, and the baseline where we have none"
        return own if source.own else f"Baseline: {source.baseline}"
    made_on = day(source.sheet.made_on)
    if source.sheet.role == Sheet.Role.TARGET:
        return _with_track(f"Our own target of {made_on}", source.sheet)
    return f"As set last time at {source.sheet.track}, {made_on}"


def _with_track(name: str, sheet: Sheet) -> str:
    return f"{name}, {sheet.track}" if sheet.track else name
