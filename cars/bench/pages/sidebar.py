"""The sidebar of a step of the bench."""

from typing import Any

from cars.baselines.presenters.own_targets import sheet_own_target_lines
from cars.bench.presenters.bench_view import BenchView
from cars.models import Sheet
from cars.permissions import check_can_fit_part
from cars.sheets.presenters.own_targets import own_into_boxes
from cars.sheets.presenters.parts_fitted import fitted_view
from clubsetup.access.errors import is_allowed
from clubsetup.access.models import User


def step_sidebar(seen: BenchView, by: User) -> dict[str, Any]:
    """The parts of a step and the team's own targets in it."""
    sheet, step = seen.sheet, seen.here.step
    own = sheet_own_target_lines(sheet, seen.view.units, step)
    own_into_boxes(own, seen.view)
    return {
        "fitted": fitted_view(sheet, by, step.pk),
        "may_fit": sheet.state == Sheet.State.OPEN and is_allowed(check_can_fit_part, by, sheet),
        "own_targets": own,
    }
