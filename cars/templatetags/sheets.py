"""The boxes of a sheet in templates."""

from django import template
from django.utils.safestring import SafeString

from cars.pages import box_html
from cars.queries.sheet_view import Box, Row, SheetView

register = template.Library()


@register.simple_tag
def row_boxes(row: Row, view: SheetView, save: str) -> SafeString:
    """The boxes of a measure."""
    return box_html.row_html(row, view, save)


@register.simple_tag
def saved_verdict(box: Box) -> SafeString:
    """The verdict of a box that was just sent, to be put in its place."""
    return box_html.verdict(box, oob=True)


@register.simple_tag
def saved_figure(box: Box, row: Row, view: SheetView) -> SafeString:
    """A computed figure, to be put in its place."""
    return box_html.figure(box, row, view, oob=True)
