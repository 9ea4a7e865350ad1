"""The team's own targets in the boxes of a sheet."""

from cars.baselines.presenters.own_targets import OwnTargetLine, within_bare
from cars.sheets.presenters.sheet_view import SheetView


def own_into_boxes(own: list[OwnTargetLine], view: SheetView) -> None:
    """The team's own targets into their boxes, where they are judged by something else."""
    for each in own:
        text = within_bare(each.row, each.measure, view.units)
        box = view.boxes.get(each.key)
        if box is not None and text != f"{box.target} ± {box.tolerance}":
            box.own = text
