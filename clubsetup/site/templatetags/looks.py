"""What many pages show alike, written once: the way back, and a state as shape and word."""

import re

from django import template
from django.utils.html import format_html
from django.utils.safestring import SafeString, mark_safe

register = template.Library()


@register.simple_block_tag
def crumbs(content: str) -> SafeString:
    """The way back: links from the widest page to the nearest."""
    # Put together from what templates wrote and escaped.
    return mark_safe(f'<nav class="crumbs" aria-label="Back">{content.strip()}</nav>')  # noqa: S308


@register.simple_block_tag
def glue(content: str) -> SafeString:
    """One run of text over several lines of a template, whose line breaks do not show.

    For what no white space may come between, as a name and the comma after it. A space at the edge
    of a line is written `{{ " " }}`, and a value in it is of one line.
    """
    return mark_safe(re.sub(r"\s*\n\s*", "", content))  # noqa: S308 (written and escaped there)


@register.simple_tag
def chip(look: str, shape: str, *words: object) -> SafeString:
    """A state: a shape that a screen reader passes over, and its words.

    `look` is the class that gives it its colour: good, bad, close, again, none.
    """
    return format_html(
        '<span class="state {}"><span class="shape" aria-hidden="true">{}</span> {}</span>',
        look,
        shape,
        " ".join(str(word) for word in words),
    )
