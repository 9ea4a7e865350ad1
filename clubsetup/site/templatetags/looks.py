"""What many pages show alike, written once: the way back, and a state as shape and word."""

import re

from django import template
from django.template import Context
from django.template.base import Node, NodeList, Parser, TextNode, Token
from django.utils.html import format_html
from django.utils.safestring import SafeString, mark_safe

register = template.Library()

LINE_BREAK = re.compile(r"\s*\n\s*")


@register.simple_block_tag
def crumbs(content: str) -> SafeString:
    """The way back: links from the widest page to the nearest."""
    # Put together from what templates wrote and escaped.
    return mark_safe(f'<nav class="crumbs" aria-label="Back">{content.strip()}</nav>')  # noqa: S308


class Glued(Node):
    """What stands between `glue` and `endglue`."""

    def __init__(self, nodelist: NodeList) -> None:
        self.nodelist = nodelist
        for text in nodelist.get_nodes_by_type(TextNode):
            if isinstance(text, TextNode):
                text.s = LINE_BREAK.sub("", text.s)

    def render(self, context: Context) -> SafeString:
        """All of it, as it was written without line breaks."""
        return self.nodelist.render(context)


@register.tag
def glue(parser: Parser, token: Token) -> Glued:
    """One run of text over several lines of a template, whose line breaks do not show.

    For what no white space may come between, as a name and the comma after it. A space at the edge
    of a line is written `{{ " " }}`.
    """
    nodelist = parser.parse(("endglue",))
    parser.delete_first_token()
    return Glued(nodelist)


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
