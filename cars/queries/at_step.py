"""A bench at a step with all that stands beside its boxes: parts, preferences, what is turned."""

from dataclasses import dataclass

from cars.adjusters import Adjuster, adjusters_in
from cars.may import check_can_write_sheet
from cars.models import Sheet
from cars.queries.bench_targets import TowardsSaid, towards_said
from cars.queries.bench_view import BenchView, bench_view
from cars.queries.fitted import Place, fitted_view
from cars.queries.preferences import Preferred, own_beside, within_bare
from cars.queries.sheet_view import SheetView
from clubsetup.access.errors import may
from clubsetup.access.models import User


@dataclass(frozen=True, slots=True)
class AtStep:
    """One step for one person."""

    bench: BenchView
    towards: TowardsSaid
    editable: bool  # they may take readings now
    adjusters: list[Adjuster]
    ours: list[Preferred]
    fitted: list[Place]  # none where they may not see the team's marks


def at_step(sheet: Sheet, viewer: User, step: str) -> AtStep:
    """The bench at a step. Raises KeyError where there is no such step."""
    bench = bench_view(sheet, viewer, step)
    ours = own_beside(sheet, bench.view.units, bench.here.step)
    own_into_boxes(ours, bench.view)
    return AtStep(
        bench=bench,
        towards=towards_said(sheet, bench.towards),
        editable=sheet.state == Sheet.State.OPEN and may(check_can_write_sheet, viewer, sheet),
        adjusters=adjusters_in(step),
        ours=ours,
        fitted=[place for sort in fitted_view(sheet, viewer, step) for place in sort.places],
    )


def own_into_boxes(own: list[Preferred], view: SheetView) -> None:
    """What the team prefers into its boxes, where they are judged by something else."""
    for each in own:
        said = within_bare(each.row, each.measure, view.units)
        box = view.boxes.get(each.key)
        if box is not None and said != f"{box.target} ± {box.tolerance}":
            box.own = said
