"""SVG elements as text, escaped, with short numbers."""

from collections.abc import Iterable, Mapping
from html import escape
from math import isfinite

Attribute = str | float | int | None
Attributes = Mapping[str, Attribute]
NONE: Attributes = {}

# Presentation attributes as paper has them: black, grey, and a shape for each state.
INK, GREY, BAND, EDGE, WHITE = "#111", "#444", "#dde3e2", "#444", "#fff"


def number(value: float) -> str:
    """A length in user units to a hundredth, without needless digits."""
    if not isfinite(value):
        raise ValueError(f"{value} has no place in a drawing.")
    return f"{round(value, 2) + 0.0:.2f}".rstrip("0").rstrip(".")


def element(
    tag: str, /, inside: str | Iterable[str] = "", attributes: Attributes = NONE, **more: Attribute
) -> str:
    """An element; `inside` is SVG already. `stroke_width` becomes stroke-width, `class_` class."""
    written = "".join(
        f' {name.rstrip("_").replace("_", "-")}="{_attribute(value)}"'
        for name, value in {**attributes, **more}.items()
        if value is not None
    )
    body = inside if isinstance(inside, str) else "".join(inside)
    return f"<{tag}{written}>{body}</{tag}>" if body else f"<{tag}{written}/>"


def text(words: str, x: float, y: float, **attributes: Attribute) -> str:
    """A line of text whose baseline stands at (x, y)."""
    return element("text", escape(words), {"x": x, "y": y, "fill": GREY, **attributes})


def drawing(
    inside: Iterable[str],
    *,
    width: float,
    height: float,
    class_: str,
    name: str = "",
    shown: tuple[float, float] | None = None,
    **more: Attribute,
) -> str:
    """The whole SVG, `width` by `height` user units, with its accessible name.

    Without a name it is hidden from a screen reader: then words beside it say the same. `shown`
    sets width and height as attributes, for paper; on a page the style sheet gives them. `more` are
    attributes of the whole.
    """
    named: Attributes = {"role": "img", "aria_label": name} if name else {"aria_hidden": "true"}
    wide, high = shown or (None, None)
    return element(
        "svg",
        inside,
        named,
        class_=class_,
        viewBox=f"0 0 {number(width)} {number(height)}",
        width=wide,
        height=high,
        **more,
    )


def _attribute(value: Attribute) -> str:
    return escape(value) if isinstance(value, str) else number(float(value or 0))
