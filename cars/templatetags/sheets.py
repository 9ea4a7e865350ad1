"""The boxes of a sheet in templates."""

from django import template
from django.utils.safestring import SafeString, mark_safe

from cars.catalogue.doing import doing
from cars.models import Step
from cars.sheets.presenters.boxes import Box
from cars.sheets.presenters.drawing import Drawing, svg
from cars.sheets.presenters.figure_table import Group
from cars.sheets.presenters.parts_fitted import FittedPlace
from cars.sheets.presenters.sheet_view import SheetRow, SheetView, StepView
from clubsetup.site.macros import macro

BOXES = "cars/sheet_boxes.jinja"
measure, verdict, figure = (macro(BOXES, name) for name in ("measure", "verdict", "figure"))
_setup_lines = macro("cars/paper.jinja", "setup_lines")
_part_options = macro("cars/part_options.jinja", "options")

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


@register.simple_tag
def part_options(place: FittedPlace) -> SafeString:
    """The parts that could be at a corner, as options."""
    return _part_options(place)


@register.filter
def as_work(step: Step) -> str:
    """'Measure ride heights'."""
    return doing(step)


@register.filter
def figures_svg(drawing: Drawing) -> SafeString:
    """The figures of the drawing of a car as SVG text."""
    return mark_safe("".join(svg(each) for each in drawing.figures))  # noqa: S308


@register.simple_tag
def setup_lines(groups: list[Group], before: str) -> SafeString:
    """The figures of a sheet on paper, a line a measure."""
    return _setup_lines(groups, before)
