"""The boxes of a sheet in templates."""

from django import template
from django.utils.safestring import SafeString, mark_safe

from cars.catalogue.doing import doing
from cars.models import Step
from cars.sheets.presenters.boxes import Box
from cars.sheets.presenters.drawing import Drawing, svg
from cars.sheets.presenters.sheet_view import SheetRow, SheetView, StepView
from clubsetup.site.macros import macro

BOXES = "cars/sheet_boxes.jinja"
measure, verdict, figure = (macro(BOXES, name) for name in ("measure", "verdict", "figure"))

register = template.Library()


@register.simple_tag
def measures(step: StepView, view: SheetView, save: str) -> SafeString:
    """The measures of a step with their boxes."""
    return mark_safe("".join(measure(row, view, save) for row in step.rows))  # noqa: S308


@register.simple_tag
def saved_verdict(box: Box) -> SafeString:
    """The verdict of a box that was just sent, to be put in its place."""
    return verdict(box, swap=True)


@register.simple_tag
def saved_figure(box: Box, row: SheetRow, view: SheetView) -> SafeString:
    """A computed figure, to be put in its place."""
    return figure(box, row, view, swap=True)


@register.filter
def as_work(step: Step) -> str:
    """'Measure ride heights'."""
    return doing(step)


@register.filter
def figures_svg(drawing: Drawing) -> SafeString:
    """The figures of the drawing of a car as SVG text."""
    return mark_safe("".join(svg(each) for each in drawing.figures))  # noqa: S308


@register.filter
def printed(box: Box, row: SheetRow) -> str:
    """The figure as a print has it: as on the page, its unit left to the measure's name."""
    shown = box.plain if box.is_rounded else _bare(box, row)
    is_marked = box.is_carried and not box.is_retake
    return f"({shown})" if is_marked else shown


@register.filter
def moved(box: Box, row: SheetRow) -> bool:
    """Another figure stood here on the sheet before."""
    return bool(box.before) and box.before != _bare(box, row)


def _bare(box: Box, row: SheetRow) -> str:
    return box.shown.removesuffix(row.unit) if row.unit.startswith(" ") else box.shown


@register.filter
def tick(box: Box) -> str:
    """A check's box: ticked where it was done on this sheet and nothing has been changed since."""
    return "☑" if box.is_read and not box.is_retake else "☐"
