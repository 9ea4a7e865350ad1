"""The marks of states on pages: a small drawn shape, and what it says where no word stands by."""

from functools import cache

from django.utils.html import format_html
from django.utils.safestring import SafeString, mark_safe

from clubsetup.plots.marks import PATHS

# What a presenter writes in plain text for a state, and the mark that a page draws for it.
OF_SIGN = {
    "✓": "tick",
    "▲": "high",
    "▼": "low",
    "≈": "waves",
    "○": "ring",
    "↻": "again",
    "✕": "refused",
    "!": "refused",
    "■": "closed",
    "□": "ring",
    "✎": "pen",
    "▶": "next",
}


@cache
def mark(name: str, says: str = "") -> SafeString:
    """The mark of this name or sign as inline SVG; a screen reader hears `says`, or nothing of it.

    What has no mark ('·') is left out.
    """
    path = PATHS.get(OF_SIGN.get(name, name))
    if path is None:
        if name not in ("", "·"):
            raise KeyError(f"There is no mark {name}.")
        return SafeString("")
    # Only our own paths.
    drawn = mark_safe(  # noqa: S308
        '<svg class="mk" viewBox="0 0 16 16" aria-hidden="true">'
        f'<path fill-rule="evenodd" d="{path}"/></svg>'
    )
    return format_html('{}<span class="visually-hidden">{}</span>', drawn, says) if says else drawn
