"""A bench at a step with all that stands beside its boxes: parts, own targets, what is turned."""

from dataclasses import dataclass

from cars.baselines.presenters.own_targets import OwnTargetLine, sheet_own_target_lines
from cars.bench.presenters.bench_view import BenchView, bench_view
from cars.catalogue.adjusters import Adjuster, adjusters_in
from cars.models import Sheet
from cars.permissions import check_can_write_sheet
from cars.sheets.presenters.own_targets import own_into_boxes
from cars.sheets.presenters.parts_fitted import FittedPlace, fitted_view
from cars.sheets.queries.targets import TargetSource
from clubsetup.access.errors import is_allowed
from clubsetup.access.models import User


@dataclass(frozen=True, slots=True)
class AtStep:
    bench: BenchView
    target_source: TargetSource
    editable: bool  # they may take readings now
    adjusters: list[Adjuster]
    own_targets: list[OwnTargetLine]
    fitted: list[FittedPlace]  # none where they may not see the team's marks


def at_step(sheet: Sheet, viewer: User, step: str) -> AtStep:
    """The bench at a step. Raises KeyError where there is no such step."""
    bench = bench_view(sheet, viewer, step)
    own_targets = sheet_own_target_lines(sheet, bench.view.units, bench.here.step)
    own_into_boxes(own_targets, bench.view)
    return AtStep(
        bench=bench,
        target_source=bench.target_source,
        editable=sheet.state == Sheet.State.OPEN
        and is_allowed(check_can_write_sheet, viewer, sheet),
        adjusters=adjusters_in(step),
        own_targets=own_targets,
        fitted=[place for sort in fitted_view(sheet, viewer, step) for place in sort.places],
    )
