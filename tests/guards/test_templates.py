"""Templates have lines that can be read, and no style is without use."""

import re
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
APPS = ("clubsetup", "teams", "cars", "events")
LONGEST = 120
# Given by Django and htmx.
THEIRS = {"errorlist", "htmx-request"}
# Put together from a name and what follows.
BEGUN = ("lay-", "boxes-", "at-", "is-", "fill-")

NAME = r"[A-Za-z][\w-]*"
COMMENT = re.compile(r"/\*.*?\*/", re.DOTALL)
TEXT = re.compile(r'"[^"]*"|url\([^)]*\)')
CLASS = re.compile(rf"\.({NAME})(?=[^{{}}]*\{{)")
QUOTED = re.compile(r'"[^"\n]*"|\'[^\'\n]*\'|`[^`]*`')


def files(*endings: str) -> list[Path]:
    return sorted(
        path for app in APPS for end in endings for path in (ROOT / app).rglob(f"*.{end}")
    )


def classes_of(style_sheet: str) -> set[str]:
    return set(CLASS.findall(TEXT.sub("", COMMENT.sub("", style_sheet))))


@pytest.fixture(scope="module")
def written() -> set[str]:
    """Every word in quotes, where classes are written: in templates, scripts and Python."""
    found: set[str] = set()
    for path in files("html", "jinja", "svg", "js", "py"):
        for quoted in QUOTED.findall(path.read_text()):
            found.update(re.findall(NAME, quoted))
    return found


def test_classes_are_found_in_a_style_sheet() -> None:
    sheet = (
        '/* .no */ .a, b.c:hover > .d-e { content: ".f"; margin: .5rem } @media (x) { .g { y: z } }'
    )
    assert classes_of(sheet) == {"a", "c", "d-e", "g"}


# The API's reference is drawn by a library, with classes of its own.
OURS = [path for path in files("css") if path.name != "api.css"]


@pytest.mark.parametrize("path", OURS, ids=lambda path: path.name)
def test_every_class_is_used(path: Path, written: set[str]) -> None:
    known = written | THEIRS
    assert {
        name
        for name in classes_of(path.read_text())
        if name not in known and not name.startswith(BEGUN)
    } == set()


@pytest.mark.parametrize(
    "path", files("html", "jinja"), ids=lambda path: str(path.relative_to(ROOT))
)
def test_no_line_is_too_long_to_read(path: Path) -> None:
    lines = path.read_text().splitlines()
    assert [at for at, line in enumerate(lines, 1) if len(line) > LONGEST] == []
