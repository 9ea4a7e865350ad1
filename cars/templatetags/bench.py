"""The boxes of the bench in templates."""

from django import template
from django.template.loader import render_to_string
from django.utils.safestring import SafeString

from cars.bench.presenters.bench_view import BenchRow
from cars.bench.presenters.blank_sheet import BlankStep
from clubsetup.site.macros import macro

measure = macro("cars/bench_boxes.jinja", "measure")
_blank_lines = macro("cars/paper.jinja", "blank_lines")

register = template.Library()


@register.simple_tag
def bench_measure(row: BenchRow, editable: bool, alone: bool = False) -> SafeString:
    """A measure with its fields, verdicts, what it was, and room for two more takes."""
    return measure(row, editable, alone)


@register.simple_tag
def blank_lines(steps: list[BlankStep]) -> SafeString:
    """The lines of a bench sheet to fill in by hand, with the drawings that stand beside them."""
    drawings = {
        step.drawing: SafeString(render_to_string(step.drawing)) for step in steps if step.drawing
    }
    return _blank_lines(steps, drawings)
