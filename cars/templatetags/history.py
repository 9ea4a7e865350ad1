"""The rows of a comparison in templates."""

from collections.abc import Sequence

from django import template
from django.utils.safestring import SafeString

from cars.history.presenters.comparison import ComparisonView, Row
from clubsetup.site.macros import macro

_rows = macro("cars/comparison.jinja", "rows")

register = template.Library()


@register.simple_tag
def compared_rows(
    view: ComparisonView, rows: Sequence[Row], caption: str = "", *, has_strip: bool = False
) -> SafeString:
    """Measures on every sheet, on a page."""
    return _rows(rows, view, has_strip=has_strip, caption=caption)


@register.simple_tag
def compared_rows_on_paper(
    view: ComparisonView, rows: Sequence[Row], *, has_strip: bool = False
) -> SafeString:
    """The same on paper, which is not heard."""
    return _rows(rows, view, has_strip=has_strip, on_paper=True)
