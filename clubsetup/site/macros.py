"""Macros of Jinja2 templates: small parts of which a page has very many."""

from collections.abc import Callable
from typing import cast

from django.template import engines
from django.template.backends.jinja2 import Jinja2
from django.utils.safestring import SafeString


def macro(template: str, name: str) -> Callable[..., SafeString]:
    """A macro by its template and name, which escapes what it is given."""

    def call(*given: object, **named: object) -> SafeString:
        # Asked for anew: where templates may change while the service runs, the engine sees it.
        engine = cast(Jinja2, engines["jinja2"])
        module = engine.env.get_template(template).module
        return SafeString(getattr(module, name)(*given, **named))

    return call
