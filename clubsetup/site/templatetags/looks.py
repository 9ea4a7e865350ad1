"""What many pages show alike, written once: the way back, states, marks and figures."""

import re

from django import template
from django.template import Context
from django.template.base import Node, NodeList, Parser, TextNode, Token
from django.utils.html import format_html, strip_tags
from django.utils.safestring import SafeString, mark_safe

from clubsetup.site.figures import set_figure, set_in_slot
from clubsetup.site.macros import macro
from clubsetup.site.marks import mark
from clubsetup.site.step_list import StepShown, draw_segments

register = template.Library()

_reading_box, _spine = (macro("look/box.jinja", name) for name in ("reading_box", "spine"))
_figure_table = macro("look/figures.jinja", "figure_table")

LINE_BREAK = re.compile(r"\s*\n\s*")


# Where a page's breadcrumbs wait for the top line; Django has it at the bottom of every context.
CRUMBS = "crumbs_of_page"
LINK = re.compile(r"<a\b.*?</a>", re.DOTALL)


@register.simple_block_tag(takes_context=True)
def crumbs(context: Context, content: str) -> str:
    """The way back, for the top line: links from the widest page to the nearest.

    Text after the last link is where one is; without it the top line takes the page's title.
    """
    context.dicts[0][CRUMBS] = content
    return ""


@register.simple_block_tag
def body_first(content: str) -> SafeString:
    """What is rendered before the frame around it, `as` a name: it brings the breadcrumbs."""
    return SafeString(content.strip())


@register.simple_tag(takes_context=True)
def where_you_are(context: Context, title: str) -> SafeString:
    """The breadcrumbs of the top line, of what the page said in `crumbs` and its title."""
    content = str(context.dicts[0].get(CRUMBS, ""))
    links = LINK.findall(content)
    last = LINK.sub("", content).strip() or title.strip().partition(" · ")[0]
    items = [f"<li>{link}</li>" for link in links]
    if last and not _ends_in(links, last):
        items.append(f'<li aria-current="page"><span>{last}</span></li>')
    if not items:
        return SafeString("")
    # Put together from what templates wrote and escaped.
    return mark_safe(  # noqa: S308
        f'<nav class="crumbs" aria-label="Where you are"><ol>{"".join(items)}</ol></nav>'
    )


def _ends_in(links: list[str], last: str) -> bool:
    return bool(links) and strip_tags(links[-1]).strip() == strip_tags(last).strip()


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


@register.simple_tag(name="mark")
def mark_tag(name: str, says: str = "") -> SafeString:
    """`{% mark "tick" %}`: the mark of a state before its word.

    tick, low, high, waves, ring, again, refused, caution, pen, closed, next, back; or the sign that
    a presenter writes for one. Where no word stands beside it, a screen reader hears `says`.
    """
    return mark(name, says)


@register.simple_tag
def chip(look: str, shape: str, *words: object) -> SafeString:
    """A state: its mark, which a screen reader passes over, and its words.

    `look` is the class that gives it its colour and weight: good, bad, close, none, again,
    refused, or at the desk meets.
    """
    return format_html(
        '<span class="state {}">{} <span>{}</span></span>',
        look,
        mark(shape),
        " ".join(str(word) for word in words),
    )


@register.filter
def fig(text: object) -> SafeString:
    """`{{ "2 5/16 in"|fig }}`: fractions set smaller, clear of the whole number."""
    return set_figure(text)


@register.filter
def slot(text: object) -> SafeString:
    """`{{ "2 5/16"|slot }}`: the same for a column of a table with `.slots`."""
    return set_in_slot(text)


@register.simple_tag(name="segments")
def segments_tag(steps: list[StepShown], here: StepShown | None = None) -> SafeString:
    """`{% segments steps here %}`: a segment a step."""
    return draw_segments(steps, here)


@register.simple_block_tag
def fold(content: str, title: str, answer: str = "") -> SafeString:
    """A section that is folded on a phone, and open from 60 rem: its heading and short answer."""
    return format_html(
        '<details class="fold sec"><summary><h2>{}</h2><span class="num">{}</span>'
        '<span class="chev" aria-hidden="true"></span></summary>{}</details>',
        title,
        set_figure(answer),
        content,
    )


@register.simple_tag
def reading_box(box: dict[str, object], **more: object) -> SafeString:
    """A reading box (look/box.jinja) of all that it is given, by name."""
    return _reading_box(**{**box, **more})


@register.simple_tag
def spine() -> SafeString:
    """The drawing between four boxes that says whose wheel is whose."""
    return _spine()


@register.simple_tag
def figure_table(groups: object, before: str = "") -> SafeString:
    """The figures of a sheet, a line a measure (look/figures.jinja)."""
    return _figure_table(groups, before)
