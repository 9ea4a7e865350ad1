"""What stands beside the figures of a car, a sheet and a bench: parts, preferences, news."""

from typing import Any

from cars.may import check_can_fit_part, check_can_keep_car, check_can_see_parts
from cars.models import Car, Sheet
from cars.queries.at_step import own_into_boxes
from cars.queries.bench_view import BenchView
from cars.queries.fitted import fitted_view
from cars.queries.preferences import own_beside
from cars.queries.sheet_view import SheetView
from cars.queries.versions import newer_than
from clubsetup.access.errors import may
from clubsetup.access.models import User


def beside_car(car: Car, by: User) -> dict[str, Any]:
    """Whether a newer version of its baseline is in force, and what that changed."""
    return {"newer": newer_than(car.baseline, by), "may_move": may(check_can_keep_car, by, car)}


def beside_sheet(sheet: Sheet, view: SheetView, by: User) -> dict[str, Any]:
    """The team's preferences in their boxes and as a list; news of the baseline while it is open.

    The car may be another team's by now: then there is nothing to tell of it.
    """
    own = own_beside(sheet, view.units)
    own_into_boxes(own, view)
    is_theirs = sheet.car.team_id == sheet.team_id
    newer = None
    if is_theirs and sheet.state == Sheet.State.OPEN:
        newer = newer_than(sheet.car.baseline, by)
    return {
        "ours": own,
        "car": sheet.car,
        "newer": newer,
        "may_move": newer is not None and may(check_can_keep_car, by, sheet.car),
        "may_see_parts": may(check_can_see_parts, by, sheet.team),
        "may_see_preferences": is_theirs,
    }


def beside_step(seen: BenchView, by: User) -> dict[str, Any]:
    """The parts of a step and the team's preferences in it."""
    sheet, step = seen.sheet, seen.here.step
    own = own_beside(sheet, seen.view.units, step)
    own_into_boxes(own, seen.view)
    return {
        "fitted": fitted_view(sheet, by, step.pk),
        "may_fit": sheet.state == Sheet.State.OPEN and may(check_can_fit_part, by, sheet),
        "ours": own,
    }
