"""The boxes of the bench in templates."""

from django import template
from django.utils.safestring import SafeString

from cars.bench.presenters.bench_view import BenchRow
from clubsetup.site.macros import macro

measure = macro("cars/bench_boxes.jinja", "measure")

register = template.Library()


@register.simple_tag
def bench_measure(row: BenchRow, editable: bool, alone: bool = False) -> SafeString:
    """A measure with its fields, verdicts, what it was, and room for two more takes."""
    return measure(row, editable, alone)
