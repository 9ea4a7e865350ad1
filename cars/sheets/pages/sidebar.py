"""Beside a sheet: the team's own targets, news of the baseline."""

from typing import Any

from cars.baselines.presenters.own_targets import sheet_own_target_lines
from cars.baselines.queries.versions import newer_than
from cars.models import Sheet
from cars.permissions import check_can_keep_car, check_can_see_parts
from cars.sheets.presenters.sheet_view import SheetView
from clubsetup.access.errors import is_allowed
from clubsetup.access.models import User


def sheet_sidebar(sheet: Sheet, view: SheetView, by: User) -> dict[str, Any]:
    """The team's own targets as a list; news of the baseline while it is open.

    The car may be another team's by now: then there is nothing to tell of it.
    """
    own = sheet_own_target_lines(sheet, view.units)
    is_theirs = sheet.car.team_id == sheet.team_id
    newer = None
    if is_theirs and sheet.state == Sheet.State.OPEN:
        newer = newer_than(sheet.car.baseline, by)
    return {
        "own_targets": own,
        "car": sheet.car,
        "newer": newer,
        "may_move": newer is not None and is_allowed(check_can_keep_car, by, sheet.car),
        "may_see_parts": is_allowed(check_can_see_parts, by, sheet.team),
        "may_see_own_targets": is_theirs,
    }
