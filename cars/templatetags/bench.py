"""The boxes of the bench in templates."""

from django import template
from django.utils.safestring import SafeString

from cars.bench.presenters.bench_view import BenchBox, BenchRow
from clubsetup.site.macros import macro

box = macro("cars/bench_boxes.jinja", "box")

register = template.Library()


@register.simple_tag
def bench_box(each: BenchBox, row: BenchRow, editable: bool) -> SafeString:
    """A box with its field, what it was, its verdict, and room for two more takes."""
    return box(each, row.row, editable, row.is_repeatable)
