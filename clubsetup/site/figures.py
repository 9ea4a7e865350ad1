"""A figure as a page sets it: the fraction smaller and clear of the whole number.

2 1/4 must never look like 21/4: between them stands a no-break space, which is read aloud, copied
and printed as one. Texts of the API, of CSV and of messages stay plain.
"""

import re

from django.utils.html import escape
from django.utils.safestring import SafeString, mark_safe

NO_BREAK = "\u00a0"
# A fraction, after a whole number or not; no part of a date, a path or a longer run of digits.
_FRACTION = re.compile(r"(?<![\w/.])([+\-−±]?)(?:(\d+)[ \u00a0])?(\d+/\d+)(?![\w/])")
_DECIMAL = re.compile(r"(?<![\w/.,])([+\-−±]?\d+)([.]\d+)?(?![\w/.])")


def set_figure(text: object) -> SafeString:
    """Every fraction in the text, escaped, set as a figure: `2<i class="fr">&nbsp;5/16</i>`."""
    return mark_safe(_FRACTION.sub(_fraction, escape(str(text))))  # noqa: S308


def set_in_slot(text: object) -> SafeString:
    """A figure for a column with `.slots`: what hangs to the right has a slot of fixed width.

    Decimals and whole numbers get one too, so that whole numbers end on one line down the column.
    Only a figure that begins the text is put in a slot.
    """
    safe = escape(str(text))
    if found := _FRACTION.match(safe):
        return mark_safe(_fraction(found) + safe[found.end() :])  # noqa: S308
    if found := _DECIMAL.match(safe):
        whole, rest = found[1], found[2] or ""
        figure = f'<span class="fg">{whole}<i>{rest}</i></span>'
        return mark_safe(figure + safe[found.end() :])  # noqa: S308
    return SafeString(safe)


def _fraction(found: re.Match[str]) -> str:
    sign, whole, fraction = found[1], found[2], found[3]
    before = f"{whole}" if whole else ""
    space = "&nbsp;" if whole else ""
    return f'<span class="fg">{sign}{before}<i class="fr">{space}{fraction}</i></span>'
