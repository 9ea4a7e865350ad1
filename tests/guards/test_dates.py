"""Nobody writes a day or a time but clubsetup/clock: a second way of writing creeps in easily."""

import re
from pathlib import Path

from django.conf import settings

from clubsetup.printing.registry import all_documents

ROOMS = ("clubsetup", "teams", "cars", "events")
WRITER = "clubsetup/clock/"
PYTHON = re.compile(r"strftime|date_format\(|time_format\(|:%[a-zA-Z]")
TEMPLATE = re.compile(r"\|\s*(date|time)\b|{%\s*now\b|\bUTC\b")


def _wrong(pattern: re.Pattern[str], kind: str) -> list[str]:
    found = []
    for room in ROOMS:
        for path in sorted((settings.BASE_DIR / room).rglob(kind)):
            name = str(path.relative_to(settings.BASE_DIR))
            if not name.startswith(WRITER) and "/migrations/" not in name:
                found += [f"{name}: {line}" for line in _lines(path) if pattern.search(line)]
    return found


def _lines(path: Path) -> list[str]:
    return path.read_text().splitlines()


def test_python_leaves_writing_days_to_the_clock() -> None:
    assert _wrong(PYTHON, "*.py") == []


def test_templates_use_the_clocks_filters_and_name_no_zone() -> None:
    assert _wrong(TEMPLATE, "*.html") + _wrong(TEMPLATE, "*.jinja") == []


def test_the_patterns_see_what_they_are_for() -> None:
    assert PYTHON.search('f"{day:%d %b %Y}"')
    assert TEMPLATE.search('{{ day|date:"j M Y" }}')


def test_every_document_says_whose_clock_it_tells() -> None:
    assert all(callable(document.clock) for document in all_documents())
