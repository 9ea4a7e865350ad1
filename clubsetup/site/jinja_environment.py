"""What Jinja2 templates may use beside what they are given: the same marks and figures."""

from typing import Any

from jinja2 import Environment

from clubsetup.site.figures import set_figure, set_in_slot
from clubsetup.site.marks import mark


def environment(**options: Any) -> Environment:
    """`mark("tick")`, `text|fig` and `text|slot`, as in Django's templates."""
    made = Environment(**options)  # noqa: S701  # Django's engine turns escaping on
    made.globals["mark"] = mark
    made.filters["fig"] = set_figure
    made.filters["slot"] = set_in_slot
    return made
