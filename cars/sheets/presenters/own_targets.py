"""The team's own targets in the boxes of a sheet."""

from cars.baselines.queries.preferences import Preferred, within_bare
from cars.sheets.presenters.sheet_view import SheetView


def own_into_boxes(own: list[Preferred], view: SheetView) -> None:
    """What the team prefers into its boxes, where they are judged by something else."""
    for each in own:
        said = within_bare(each.row, each.measure, view.units)
        box = view.boxes.get(each.key)
        if box is not None and said != f"{box.target} ± {box.tolerance}":
            box.own = said
