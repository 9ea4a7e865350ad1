"""What is sent where something else is meant, and where it can be sent: for forms and the API."""

import re
from collections.abc import Iterator, Mapping
from html.parser import HTMLParser
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

from django.conf import settings
from django.urls import Resolver404, resolve
from hypothesis import strategies as st

TEXTS = (
    *("", " ", "\x00", "a\x00b", "x" * 5000, "nan", "-inf", "1e999999999", "-1e999999999"),
    *("1e-999999999", "9" * 5000, "9" * 19, "-1", "0", "1/0", "46 5/0", "½", "1,1,1,1", "%00"),
    *("0001-01-01", "9999-12-31", "9999-12-31T23:59:59Z", "2026-02-30", "24:00", "1e5"),
    *("00000000-0000-0000-0000-000000000000", "nonsense", "../../etc", "[" * 5000, "{}", "[1]"),
    *("null", "a.b", "a:b:c", ":", ".", ",", "caster.left", "\u202e\ufeff", "\U0001f3c1", "٣"),
    *("\r\nX: y", "<b>", "{{ 7 }}", "%(x)s", "on", "true", "-0", "1_0", "0x10", "٣٣/٤"),
)
texts = st.sampled_from(TEXTS) | st.text(st.characters(exclude_categories=["Cs"]), max_size=12)
_plain = st.sampled_from([None, True, 0, -1, 2**63, -(2**63), 10**30, 1e300, 1e-300, -0.5]) | texts
values = st.recursive(
    _plain,
    lambda inner: st.lists(inner, max_size=2) | st.dictionaries(texts, inner, max_size=2),
    max_leaves=4,
)
_ASKED = re.compile(r"""(?:GET|query_params)(?:\.get|\.getlist)?[(\[]\s*"(\w+)\"""")
ROOMS = ("clubsetup", "teams", "cars", "events")


def asked_in_addresses() -> list[str]:
    """The names that a view looks for in an address, from the views' own code."""
    found = {"page", "next", "cursor", "format", "before", "members", "teams"}
    for room in ROOMS:
        for file in sorted(Path(settings.BASE_DIR, room).rglob("*.py")):
            found |= set(_ASKED.findall(file.read_text()))
    return sorted(found)


class Forms(HTMLParser):
    """The forms of a page: where each goes, and the values in it by name."""

    def __init__(self, page: str, address: str) -> None:
        super().__init__()
        self.found: list[tuple[str, dict[str, str]]] = []
        self._address = address
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = dict(attrs)
        if tag == "form":
            self.found.append((given.get("action") or self._address, {}))
        elif self.found and (name := given.get("name")):
            self.found[-1][1].setdefault(name, given.get("value") or "")


def by_name(forms: list[tuple[str, dict[str, str]]]) -> Iterator[tuple[str, dict[str, str]]]:
    """Each form by the name of the address it goes to."""
    for action, fields in forms:
        try:
            yield resolve(urlsplit(action).path).url_name or "", fields
        except Resolver404:
            continue


@st.composite
def altered(draw: st.DrawFn, body: Any) -> Any:
    """A body that is right, but for one to three of its values, or wrong altogether."""
    if not isinstance(body, Mapping) or not body or draw(st.integers(0, 9)) == 0:
        return draw(values)
    names = st.lists(st.sampled_from(sorted(body)), min_size=1, max_size=3, unique=True)
    changed = {name: draw(values) for name in draw(names)}
    return {**body, **changed}
